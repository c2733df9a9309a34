// SPDX-License-Identifier: MIT
#include "report/paper_words.h"

#include "base/keyfile.h"
#include "base/memory.h"
#include "base/text.h"
#include "chart/draw/number.h"

#include <glib.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

typedef struct {
    char *group, *key, *text;
    size_t length; // of the text
    bool own, asked;
    bool known; // a file behind the shop's own has a text of this name
} Said;

struct DwPaperWords {
    GPtrArray *said;     // Said: the shop's own first, then the language's, English last
    GPtrArray *standing; // those of them that stand: of those under one name the first
    GHashTable *first;   // the same, by group and key
    char *language, *mark, *thousands;
    DwNumberStyle numbers;
};

static guint hash_name(gconstpointer said)
{
    const Said *name = said;
    return 31 * g_str_hash(name->group) + g_str_hash(name->key);
}

static gboolean is_same_name(gconstpointer one, gconstpointer other)
{
    const Said *left = one, *right = other;
    return strcmp(left->key, right->key) == 0 && strcmp(left->group, right->group) == 0;
}

static Said *find(GHashTable *named, const char *group, const char *key)
{
    Said name = {.group = (char *)group, .key = (char *)key};
    return g_hash_table_lookup(named, &name);
}

static void free_said(gpointer said)
{
    Said *text = said;
    free(text->group);
    free(text->key);
    free(text->text);
    free(text);
}

// Adds a text behind those that are there.
static Said *add(DwPaperWords *words, const char *group, const char *key, const char *text, bool own)
{
    Said *said = dw_memory_new(1, sizeof *said), *before = find(words->first, group, key);
    *said = (Said){.group = dw_memory_text(group),
                   .key = dw_memory_text(key),
                   .text = dw_memory_text(text),
                   .length = strlen(text),
                   .own = own};
    g_ptr_array_add(words->said, said);
    if (before)
        before->known = true;
    else {
        g_ptr_array_add(words->standing, said);
        g_hash_table_add(words->first, said);
    }
    return said;
}

// Adds MORE to what is said. Its length is kept: a text may come in thousands of pieces.
static void go_on(Said *said, const char *more)
{
    size_t length = strlen(more);
    said->text = dw_memory_resize(said->text, said->length + length + 2, 1);
    if (said->length)
        said->text[said->length++] = ' ';
    memcpy(said->text + said->length, more, length + 1);
    said->length += length;
}

// Adds the texts of FILE behind those that are there. A text that goes on in
// further lines of the file comes in pieces, one after another.
static void take(DwPaperWords *words, const DwKeyfile *file, bool own)
{
    GHashTable *here = g_hash_table_new(hash_name, is_same_name);
    for (size_t i = 0; i < file->count; i++) {
        const DwKeyLine *line = &file->lines[i];
        Said *before = find(here, line->group, line->key);
        if (before)
            go_on(before, line->value);
        else
            g_hash_table_add(here, add(words, line->group, line->key, line->value, own));
    }
    g_hash_table_unref(here);
}

// What a reading is called and what it means is open to new keys: a shop has readings of its own.
static bool is_open(const char *group)
{
    return strcmp(group, "names") == 0 || strcmp(group, "proof_names") == 0 || strcmp(group, "labels") == 0 ||
           strcmp(group, "unmeasured") == 0 || strcmp(group, "readings") == 0;
}

static DwStatus check_own(const DwPaperWords *words, const char *path, DwMessage *message)
{
    for (guint i = 0; i < words->standing->len; i++) {
        const Said *said = g_ptr_array_index(words->standing, i);
        if (said->own && !said->known && !is_open(said->group))
            return dw_fail(message, DW_BAD_INPUT,
                           "%s: no paper has a text \"%s\" in [%s]. 'deckwright report words' lists them all.", path,
                           said->key, said->group);
    }
    return DW_OK;
}

// The file of LANGUAGE's words, "de-AT" before "de"; NULL where there is none. The caller frees it.
static char *find_language(const char *data_folder, const char *language)
{
    for (size_t length = strlen(language); length;) {
        char *path = dw_text_format("%s/words/papers.%.*s.ini", data_folder, (int)length, language);
        if (access(path, R_OK) == 0)
            return path;
        free(path);
        while (length && language[--length] != '-' && language[length] != '_')
            ;
    }
    return NULL;
}

static DwStatus read_file(DwPaperWords *words, const char *path, bool own, DwMessage *message)
{
    DwKeyfile file = {0};
    DwStatus status = dw_keyfile_read(path, &file, message);
    if (status == DW_OK)
        take(words, &file, own);
    dw_keyfile_clear(&file);
    return status;
}

static const char *unit_in(const void *context, const char *unit)
{
    return dw_paper_words_say(context, "units", unit);
}

static bool is_english(const char *language)
{
    return strncmp(language, "en", 2) == 0 && (language[2] == '\0' || strchr("-_", language[2]));
}

bool dw_paper_words_are_english(const DwPaperWords *words)
{
    return is_english(words->language);
}

// What is printed keeps to the words as they were read: an edit of one job changes no number.
static void settle_language(DwPaperWords *words, const char *language, bool found)
{
    bool english = is_english(language);
    const char *between = dw_paper_words_say(words, "numbers", "thousands");
    words->language = dw_memory_text(found || english ? language : "en");
    words->mark = dw_memory_text(dw_paper_words_say(words, "numbers", "mark"));
    words->thousands = dw_memory_text(strcmp(between, "space") == 0 ? "\u202f" : between);
    words->numbers =
        (DwNumberStyle){.mark = words->mark, .thousands = words->thousands, .unit = unit_in, .context = words};
}

DwStatus dw_paper_words_read(const char *data_folder, const char *language, const char *own, DwPaperWords **result,
                             DwMessage *message)
{
    DwPaperWords *words = dw_memory_new(1, sizeof *words);
    words->said = g_ptr_array_new_with_free_func(free_said);
    words->standing = g_ptr_array_new();
    words->first = g_hash_table_new(hash_name, is_same_name);
    DwStatus status = own ? read_file(words, own, true, message) : DW_OK;
    char *spoken = find_language(data_folder, language), *path = dw_text_format("%s/words/papers.ini", data_folder);
    if (status == DW_OK && spoken)
        status = read_file(words, spoken, false, message);
    if (status == DW_OK)
        status = read_file(words, path, false, message);
    if (status == DW_OK)
        status = check_own(words, own, message);
    if (status == DW_OK) {
        settle_language(words, language, spoken != NULL);
        *result = words;
    } else
        dw_paper_words_free(words);
    free(spoken);
    free(path);
    return status;
}

const char *dw_paper_words_language(const DwPaperWords *words)
{
    return words->language;
}

const DwNumberStyle *dw_paper_words_numbers(const DwPaperWords *words)
{
    return &words->numbers;
}

void dw_paper_words_free(DwPaperWords *words)
{
    if (!words)
        return;
    g_hash_table_unref(words->first);
    g_ptr_array_unref(words->standing);
    g_ptr_array_unref(words->said);
    free(words->language);
    free(words->mark);
    free(words->thousands);
    free(words);
}

DwStatus dw_paper_words_prefer(DwPaperWords *words, const char *name, const char *text, DwMessage *message)
{
    size_t length = strcspn(name, ".");
    char *group = dw_text_format("%.*s", (int)length, name);
    const char *key = name[length] ? name + length + 1 : "";
    Said *said = find(words->first, group, key);
    DwStatus status = DW_OK;
    if (said) {
        free(said->text);
        said->text = dw_memory_text(text);
        said->length = strlen(text);
    } else if (is_open(group) && *key)
        add(words, group, key, text, true);
    else
        status = dw_fail(message, DW_BAD_INPUT,
                         "No paper has a text \"%s\". 'deckwright report words' lists them all, as [group] and key; "
                         "here they are written group.key.",
                         name);
    free(group);
    return status;
}

bool dw_paper_words_at(const DwPaperWords *words, size_t index, DwPaperText *text)
{
    if (index >= words->standing->len)
        return false;
    const Said *said = g_ptr_array_index(words->standing, index);
    *text = (DwPaperText){said->group, said->key, said->text, said->own, said->asked};
    return true;
}

const char *dw_paper_words_say(const DwPaperWords *words, const char *group, const char *key)
{
    Said *said = find(words->first, group, key);
    if (said)
        said->asked = true;
    return said ? said->text : "";
}

const char *dw_paper_words_same(const DwPaperWords *words, const char *group, const char *english)
{
    // English stands last.
    for (guint i = words->said->len; i-- > 0;) {
        const Said *said = g_ptr_array_index(words->said, i);
        if (strcmp(said->group, group) == 0 && strcmp(said->text, english) == 0)
            return dw_paper_words_say(words, group, said->key);
    }
    return english;
}

static const char *say_to_chart(const void *context, const char *group, const char *key)
{
    return dw_paper_words_say(context, group, key);
}

DwChartWords dw_paper_words_for_charts(const DwPaperWords *words)
{
    return (DwChartWords){say_to_chart, words};
}

char *dw_paper_words_fill(const DwPaperWords *words, const char *group, const char *key, ...)
{
    char *text = dw_memory_text(dw_paper_words_say(words, group, key));
    va_list list;
    va_start(list, key);
    for (const char *name; (name = va_arg(list, const char *));) {
        char *filled = dw_text_replace(text, name, va_arg(list, const char *));
        free(text);
        text = filled;
    }
    va_end(list);
    return text;
}
