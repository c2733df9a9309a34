// SPDX-License-Identifier: MIT
#include "cli/help.h"

#include "base/text.h"

#include <stdlib.h>
#include <string.h>

// What is looked for, and what was found so far.
typedef struct {
    size_t count;
    char **words;
    size_t found;
    FILE *stream;
} Search;

// Whether TEXT holds every word, in any case of letters.
static bool speaks_of(const Search *search, const char *text)
{
    for (size_t i = 0; i < search->count; i++)
        if (!strcasestr(text, search->words[i]))
            return false;
    return search->count > 0;
}

// A line of what was found: how it is called and what it is.
static void offer(Search *search, const char *called, const char *what, const char *text)
{
    if (!speaks_of(search, text))
        return;
    fprintf(search->stream, "  %-28s %s\n", called, what);
    search->found++;
}

static void look_at_procedure(Search *search, const DwProcedure *procedure)
{
    char *text = dw_text_format("%s %s %s", procedure->name, procedure->title, procedure->summary);
    offer(search, procedure->name, procedure->summary, text);
    free(text);
}

static void look_at_command(Search *search, const DwCommand *command)
{
    char *text = dw_text_format("%s %s %s", command->name, command->summary, command->detail ? command->detail : "");
    offer(search, command->name, command->summary, text);
    free(text);
    for (const DwVerb *verb = command->verbs ? command->verbs() : NULL; verb && verb->name; verb++) {
        char *called = dw_text_format("%s %s", command->name, verb->name);
        text = dw_text_format("%s %s %s", called, verb->usage, verb->summary);
        offer(search, called, verb->summary, text);
        free(text);
        free(called);
    }
}

static void look_at_quantity(Search *search, const DwQuantity *quantity)
{
    char *text = dw_text_format("%s %s %s %s", quantity->key, quantity->label, quantity->help,
                                quantity->choices ? quantity->choices : "");
    offer(search, quantity->key, quantity->label, text);
    free(text);
}

size_t dw_help_search(size_t count, char **words, FILE *stream)
{
    Search search = {.count = count, .words = words, .stream = stream};
    const DwProcedure *procedure;
    for (size_t i = 0; (procedure = dw_procedure_at(i)); i++)
        look_at_procedure(&search, procedure);
    const DwCommand *command;
    for (size_t i = 0; (command = dw_command_at(i)); i++)
        look_at_command(&search, command);
    const DwQuantity *quantity;
    for (size_t i = 0; (quantity = dw_quantity_at(i)); i++)
        look_at_quantity(&search, quantity);
    if (search.found)
        fputs("\n'deckwright help' and the first column says more.\n", stream);
    return search.found;
}
