// SPDX-License-Identifier: MIT
#include "base/keyfile.h"
#include "base/memory.h"
#include "base/text.h"
#include "cli/command.h"
#include "cli/options.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// Takes the lines of a deck file: [group] and key make the quantity's name.
// BEHIND leaves alone what was given before.
static DwStatus read_deck_file(DwInputs *inputs, const char *path, bool behind, DwMessage *message)
{
    DwKeyfile file;
    DwStatus status = dw_keyfile_read(path, &file, message);
    if (status != DW_OK)
        return status;
    dw_inputs_begin_source(inputs);
    for (size_t i = 0; status == DW_OK && i < file.count; i++) {
        const DwKeyLine *line = &file.lines[i];
        char *key = *line->group ? dw_text_format("%s.%s", line->group, line->key) : dw_memory_text(line->key);
        DwMessage why;
        bool leave = behind && dw_quantity_find(key) && dw_inputs_given_before(inputs, key);
        status = leave ? DW_OK : dw_inputs_set_once(inputs, key, line->value, &why);
        if (status != DW_OK)
            dw_fail(message, status, "%s: line %u: %s", path, line->line, why.text);
        free(key);
    }
    dw_keyfile_clear(&file);
    return status;
}

static DwStatus take_operand(DwInputs *inputs, const char *operand, const DwProcedure *procedure, DwMessage *message)
{
    size_t length = strcspn(operand, "=");
    char *key = dw_memory_text(operand);
    key[length] = 0;
    bool known = dw_quantity_find(key) != NULL;
    bool taken = !procedure || !known || dw_procedure_takes(procedure, key);
    DwStatus status =
        taken ? dw_inputs_set_operand(inputs, operand, message)
              : dw_fail(message, DW_BAD_INPUT, "%s does not use %s. 'deckwright help %s' lists what it takes.",
                        procedure->name, key, procedure->name);
    free(key);
    return status;
}

// An operand is KEY=VALUE. A path may hold a '=' too: it has a folder before it,
// or is the name of a file that is there, and what stands before the '=' is no key.
static bool is_operand(const char *argument)
{
    size_t length = strcspn(argument, "=");
    if (argument[length] != '=' || memchr(argument, '/', length))
        return false;
    char *key = dw_text_format("%.*s", (int)length, argument);
    bool known = dw_quantity_find(key) != NULL;
    free(key);
    return known || access(argument, F_OK) != 0;
}

static DwStatus read_options(int count, char **arguments, DwCall *call, DwOptionWords *words, DwMessage *message)
{
    const DwOption options[] = {
        {"deck", call->decks, NULL, &call->deck_count},
        {"json", NULL, &call->json, NULL},
        {"help", NULL, &call->help, NULL},
        {"chart", &call->chart, NULL, NULL},
        {"out", &call->out, NULL, NULL},
        {"print", &call->out, NULL, NULL},
        {"job", &call->job, NULL, NULL},
        {"as", &call->as, NULL, NULL},
        {"book", &call->book, NULL, NULL},
        {"by", &call->by, NULL, NULL},
        {0},
    };
    return dw_options_read(count, arguments, options, "--deck, --json, --chart, --out, --job, --as, --book and --by",
                           words, message);
}

DwStatus dw_call_read(int count, char **arguments, const DwProcedure *procedure, DwInputs *known, DwCall *call,
                      DwMessage *message)
{
    *call = (DwCall){.inputs = known ? known : dw_inputs_new(),
                     .words = dw_memory_new((size_t)count, sizeof(char *)),
                     .decks = dw_memory_new((size_t)count, sizeof(char *))};
    DwOptionWords read = {.words = dw_memory_new((size_t)count, sizeof(char *))};
    DwStatus status = read_options(count, arguments, call, &read, message);
    for (size_t i = 0; status == DW_OK && i < call->deck_count; i++)
        status = read_deck_file(call->inputs, call->decks[i], false, message);
    dw_inputs_begin_source(call->inputs);
    for (size_t i = 0; status == DW_OK && i < read.count; i++) {
        if (i < read.only && is_operand(read.words[i]))
            status = take_operand(call->inputs, read.words[i], procedure, message);
        else
            call->words[call->word_count++] = read.words[i];
    }
    free(read.words);
    if (status != DW_OK)
        dw_call_clear(call);
    return status;
}

DwStatus dw_call_read_deck(DwCall *call, const char *path, DwMessage *message)
{
    return read_deck_file(call->inputs, path, true, message);
}

void dw_call_clear(DwCall *call)
{
    dw_inputs_free(call->inputs);
    free(call->words);
    free(call->decks);
    free(call->from_book);
    *call = (DwCall){0};
}

int dw_complain(DwStatus status, const DwMessage *message)
{
    fprintf(stderr, "deckwright: %s\n", message->text);
    return status == DW_BAD_INPUT ? DW_EXIT_BAD_INPUT : DW_EXIT_FAILED;
}
