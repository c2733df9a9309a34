// SPDX-License-Identifier: MIT
#include "cli/options.h"

#include "base/memory.h"

#include <assert.h>
#include <ctype.h>
#include <getopt.h>
#include <stdlib.h>
#include <string.h>

enum { OPTIONS_MOST = 16, FIRST = 256 }; // what getopt_long returns for the first row

// The options as getopt_long wants them.
static void make_table(const DwOption *options, struct option table[OPTIONS_MOST + 1])
{
    size_t count = 0;
    for (; options[count].name; count++) {
        assert(count < OPTIONS_MOST);
        table[count] = (struct option){options[count].name, options[count].word ? required_argument : no_argument, NULL,
                                       FIRST + (int)count};
    }
    table[count] = (struct option){0};
}

static DwStatus take_option(const DwOption *option, const char *word, DwMessage *message)
{
    if (!option->word) {
        *option->given = true;
        return DW_OK;
    }
    if (option->count) {
        option->word[(*option->count)++] = word;
        return DW_OK;
    }
    if (*option->word)
        return dw_fail(message, DW_BAD_INPUT, "--%s is given twice: %s and %s. Keep one.", option->name, *option->word,
                       word);
    *option->word = word;
    return DW_OK;
}

static const DwOption *find(const DwOption *options, const char *name)
{
    for (; options->name; options++)
        if (strcmp(options->name, name) == 0)
            return options;
    return NULL;
}

// What getopt_long made of ARGUMENT, the last that it read; WORD is what it found.
static DwStatus take(int got, const char *argument, const char *word, const DwOption *options, const char *known,
                     DwOptionWords *words, DwMessage *message)
{
    if (got >= FIRST)
        return take_option(&options[got - FIRST], word, message);
    if (got == 1) {
        words->words[words->count++] = word;
        return DW_OK;
    }
    if (got == ':')
        return dw_fail(message, DW_BAD_INPUT, "%s needs a word after it.", argument);
    const DwOption *help = got == 'h' ? find(options, "help") : NULL;
    if (help)
        return take_option(help, NULL, message);
    if (optopt >= FIRST)
        return dw_fail(message, DW_BAD_INPUT, "--%s takes no word: %s.", options[optopt - FIRST].name, argument);
    return dw_fail(message, DW_BAD_INPUT, "%s is not an option. The options are %s.", argument, known);
}

// The arguments with a name before them and NULL behind, as getopt_long wants them; "-2" is
// hidden from it behind a word. The caller frees it with free().
static char **copy_arguments(int count, char **arguments)
{
    static char number[] = "number";
    char **copy = dw_memory_new((size_t)count + 2, sizeof *copy);
    copy[0] = number;
    for (int i = 0; i < count; i++)
        copy[i + 1] = arguments[i][0] == '-' && isdigit((unsigned char)arguments[i][1]) ? number : arguments[i];
    return copy;
}

DwStatus dw_options_read(int count, char **arguments, const DwOption *options, const char *known, DwOptionWords *words,
                         DwMessage *message)
{
    struct option table[OPTIONS_MOST + 1];
    char **copy = copy_arguments(count, arguments);
    make_table(options, table);
    DwStatus status = DW_OK;
    opterr = 0;
    optind = 0; // begins anew
    int at = 1, got = getopt_long(count + 1, copy, "-:h", table, NULL);
    while (status == DW_OK && got >= 0) {
        bool whole = optarg && optarg == copy[optind - 1];
        status = take(got, arguments[at - 1], whole ? arguments[optind - 2] : optarg, options, known, words, message);
        at = optind;
        got = status == DW_OK ? getopt_long(count + 1, copy, "-:h", table, NULL) : -1;
    }
    words->only = words->count;
    for (int i = optind; status == DW_OK && i <= count; i++)
        words->words[words->count++] = arguments[i - 1];
    free(copy);
    return status;
}
