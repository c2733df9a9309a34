// SPDX-License-Identifier: MIT
#include "base/keyfile.h"
#include "base/memory.h"
#include "base/text.h"
#include "cli/command.h"
#include "cli/options.h"
#include "cli/tell.h"

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
        const DwQuantity *row = dw_quantity_find(key);
        bool leave = behind && row && dw_inputs_given_before(inputs, key);
        if (!leave)
            status = row ? dw_inputs_set_row(inputs, row, line->value, &why) : dw_inputs_refuse_key(key, &why);
        if (status != DW_OK)
            dw_fail(message, status, "%s: line %u: %s", path, line->line, why.text);
        free(key);
    }
    dw_keyfile_clear(&file);
    return status;
}

// A word of a command line that states a quantity.
typedef struct {
    const char *word;
    const DwQuantity *row; // NULL: it is none's
    const char *value;
} Operand;

static DwStatus take_operand(DwInputs *inputs, const Operand *operand, const DwProcedure *procedure, DwMessage *message)
{
    if (!operand->row)
        return dw_inputs_set_operand(inputs, operand->word, message); // which says what is wrong
    const char *key = operand->row->key;
    if (procedure && !dw_procedure_takes(procedure, key))
        return dw_fail(message, DW_BAD_INPUT, "%s does not use %s. 'deckwright help %s' lists what it takes.",
                       procedure->name, key, procedure->name);
    return dw_inputs_set_row(inputs, operand->row, operand->value, message);
}

// An operand is KEY=VALUE. A path may hold a '=' too: it has a folder before it,
// or is the name of a file that is there, and what stands before the '=' is no key.
static bool read_operand(const char *word, Operand *operand)
{
    size_t length = strcspn(word, "=");
    if (word[length] != '=' || memchr(word, '/', length))
        return false;
    char *key = dw_text_format("%.*s", (int)length, word);
    *operand = (Operand){word, dw_quantity_find(key), word + length + 1};
    free(key);
    return operand->row || access(word, F_OK) != 0;
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
        Operand operand;
        if (i < read.only && read_operand(read.words[i], &operand))
            status = take_operand(call->inputs, &operand, procedure, message);
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
    dw_tell(stderr, "deckwright: %s\n", *message->said ? message->said : dw_said(message->text));
    return status == DW_BAD_INPUT ? DW_EXIT_BAD_INPUT : DW_EXIT_FAILED;
}
