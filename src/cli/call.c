// SPDX-License-Identifier: MIT
#include "base/keyfile.h"
#include "base/memory.h"
#include "base/text.h"
#include "cli/command.h"

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
        status = leave ? DW_OK : dw_inputs_set(inputs, key, line->value, &why);
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

// An option with a word after it; NULL when ARGUMENT is none of them.
static const char **word_option(DwCall *call, const char *argument, const char **deck)
{
    if (strcmp(argument, "--chart") == 0)
        return &call->chart;
    if (strcmp(argument, "--out") == 0 || strcmp(argument, "--print") == 0)
        return &call->out;
    if (strcmp(argument, "--deck") == 0)
        return deck;
    if (strcmp(argument, "--job") == 0)
        return &call->job;
    if (strcmp(argument, "--as") == 0)
        return &call->as;
    if (strcmp(argument, "--book") == 0)
        return &call->book;
    if (strcmp(argument, "--by") == 0)
        return &call->by;
    return NULL;
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

static DwStatus take_options(int count, char **arguments, DwCall *call, const char ***operands, size_t *operand_count,
                             DwMessage *message)
{
    bool only_words = false;
    for (int i = 0; i < count; i++) {
        const char *argument = arguments[i];
        const char *deck = NULL;
        const char **word = only_words ? NULL : word_option(call, argument, &deck);
        if (word) {
            if (i + 1 == count)
                return dw_fail(message, DW_BAD_INPUT, "%s needs a word after it.", argument);
            *word = arguments[++i];
            DwStatus status = deck ? read_deck_file(call->inputs, deck, false, message) : DW_OK;
            if (status != DW_OK)
                return status;
        } else if (!only_words && strcmp(argument, "--json") == 0)
            call->json = true;
        else if (!only_words && (strcmp(argument, "--help") == 0 || strcmp(argument, "-h") == 0))
            call->help = true;
        else if (!only_words && strcmp(argument, "--") == 0)
            only_words = true;
        else if (!only_words && argument[0] == '-' && argument[1])
            return dw_fail(
                message, DW_BAD_INPUT,
                "%s is not an option. The options are --deck, --json, --chart, --out, --job, --as, --book and --by.",
                argument);
        else if (!only_words && is_operand(argument))
            (*operands)[(*operand_count)++] = argument;
        else
            call->words[call->word_count++] = argument;
    }
    return DW_OK;
}

DwStatus dw_call_read(int count, char **arguments, const DwProcedure *procedure, DwInputs *known, DwCall *call,
                      DwMessage *message)
{
    *call = (DwCall){.inputs = known ? known : dw_inputs_new(), .words = dw_memory_new((size_t)count, sizeof(char *))};
    const char **operands = dw_memory_new((size_t)count, sizeof(char *));
    size_t operand_count = 0;
    DwStatus status = take_options(count, arguments, call, &operands, &operand_count, message);
    dw_inputs_begin_source(call->inputs);
    for (size_t i = 0; status == DW_OK && i < operand_count; i++)
        status = take_operand(call->inputs, operands[i], procedure, message);
    free(operands);
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
    free(call->from_book);
    *call = (DwCall){0};
}

int dw_complain(DwStatus status, const DwMessage *message)
{
    fprintf(stderr, "deckwright: %s\n", message->text);
    return status == DW_BAD_INPUT ? DW_EXIT_BAD_INPUT : DW_EXIT_FAILED;
}
