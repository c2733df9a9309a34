// SPDX-License-Identifier: MIT
#include "cli/help.h"

#include "base/memory.h"
#include "base/text.h"
#include "cli/tell.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

// What is looked for, and what was found so far.
typedef struct {
    size_t count, needed; // how many words there are, and of how many a text must speak
    char **words;
    size_t found;
    FILE *stream;
} Search;

// Whether TEXT holds WORD in any case of letters; a short word only where a word begins ("anti", but not in
// "quantity").
static bool holds(const char *text, const char *word)
{
    enum { SHORT = 5 };
    for (const char *at = strcasestr(text, word); at; at = strcasestr(at + 1, word))
        if (at == text || strlen(word) >= SHORT || !isalnum((unsigned char)at[-1]))
            return true;
    return false;
}

// Whether TEXT holds as many of the words as are needed, in any case of letters.
static bool speaks_of(const Search *search, const char *text)
{
    size_t held = 0;
    for (size_t i = 0; i < search->count; i++)
        held += holds(text, search->words[i]);
    return search->needed && held >= search->needed;
}

// A line of what was found: how it is called and what it is, by TEXT, in English and in the reader's language.
static void offer(Search *search, const char *called, const char *what, const char *text)
{
    if (!speaks_of(search, text))
        return;
    fprintf(search->stream, "  %-28s %s\n", called, what);
    search->found++;
}

static void look_at_procedure(Search *search, const DwProcedure *procedure)
{
    char *text = dw_text_format("%s %s %s %s %s", procedure->name, procedure->title, procedure->summary,
                                dw_said(procedure->title), dw_said(procedure->summary));
    offer(search, procedure->name, dw_said(procedure->summary), text);
    free(text);
}

static void look_at_command(Search *search, const DwCommand *command)
{
    const char *detail = command->detail ? command->detail : "";
    char *text = dw_text_format("%s %s %s %s %s", command->name, command->summary, detail, dw_said(command->summary),
                                *detail ? dw_said(detail) : "");
    offer(search, command->name, dw_said(command->summary), text);
    free(text);
    for (const DwVerb *verb = command->verbs ? command->verbs() : NULL; verb && verb->name; verb++) {
        char *called = dw_text_format("%s %s", command->name, verb->name);
        text = dw_text_format("%s %s %s %s", called, verb->usage, verb->summary, dw_said(verb->summary));
        offer(search, called, dw_said(verb->summary), text);
        free(text);
        free(called);
    }
}

static void look_at_quantity(Search *search, const DwQuantity *quantity)
{
    char *text =
        dw_text_format("%s %s %s %s %s %s", quantity->key, quantity->label, quantity->help, dw_said(quantity->label),
                       dw_said(quantity->help), quantity->choices ? quantity->choices : "");
    offer(search, quantity->key, dw_said(quantity->label), text);
    free(text);
}

static void look_at_all(Search *search)
{
    const DwProcedure *procedure;
    for (size_t i = 0; (procedure = dw_procedure_at(i)); i++)
        look_at_procedure(search, procedure);
    const DwCommand *command;
    for (size_t i = 0; (command = dw_command_at(i)); i++)
        look_at_command(search, command);
    const DwQuantity *quantity;
    for (size_t i = 0; (quantity = dw_quantity_at(i)); i++)
        look_at_quantity(search, quantity);
}

// Words of a question that nothing is found by.
static bool is_small(const char *word)
{
    static const char *const small[] = {"how", "do", "does", "i",  "a",  "an",  "the", "to", "is",   "what",  "can",
                                        "my",  "of", "for",  "in", "on", "and", "or",  "it", "with", "where", NULL};
    for (size_t i = 0; small[i]; i++)
        if (strcasecmp(word, small[i]) == 0)
            return true;
    return false;
}

// The words of all of COUNT texts, small ones left out. The caller frees each and the array.
static void split(size_t count, char **texts, Search *search)
{
    for (size_t i = 0; i < count; i++)
        for (const char *at = texts[i]; *at;) {
            at += strspn(at, " \t\n?,");
            size_t length = strcspn(at, " \t\n?,");
            char *word = dw_text_format("%.*s", (int)length, at);
            at += length;
            if (!length || is_small(word)) {
                free(word);
                continue;
            }
            search->words = dw_memory_resize(search->words, search->count + 1, sizeof *search->words);
            search->words[search->count++] = word;
        }
}

size_t dw_help_search(size_t count, char **words, FILE *stream)
{
    Search search = {.stream = stream};
    split(count, words, &search);
    search.needed = search.count;
    look_at_all(&search);
    while (!search.found && search.needed > 1 && 2 * (search.needed - 1) >= search.count) {
        search.needed--;
        look_at_all(&search); // nothing speaks of all: what speaks of most
    }
    if (search.found)
        dw_tell(stream, "\n'deckwright help' and the first column says more.\n");
    for (size_t i = 0; i < search.count; i++)
        free(search.words[i]);
    free(search.words);
    return search.found;
}
