// SPDX-License-Identifier: MIT
#include "base/tongue.h"

#include "base/memory.h"
#include "base/place.h"
#include "base/text.h"
#include "base/words_file.h"

#include <pthread.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LANGUAGES_MOST = 64 };

// A language that was asked for, whether or not there is one.
typedef struct {
    char *folder, *tag;
    DwWordsFile *file; // NULL: there is none, it is English
    DwTongue tongue;
    char mark[8];
} Language;

static Language *languages[LANGUAGES_MOST];
static size_t language_count;
static pthread_mutex_t reading = PTHREAD_MUTEX_INITIALIZER;

static const DwTongue *of_program;
static _Thread_local const DwTongue *of_thread;
static _Thread_local bool thread_has_own;

static const char *find(const void *context, const char *text)
{
    return dw_words_file_find(context, text);
}

// The catalogue of TAG, "de_AT" before "de".
static DwWordsFile *read_catalogue(const char *folder, const char *tag)
{
    char *name = dw_memory_text(tag);
    name[strcspn(name, ".@")] = '\0';
    for (char *at = name; *at; at++)
        *at = *at == '-' ? '_' : *at;
    DwWordsFile *file = NULL;
    for (bool more = *name && !strchr(name, '/'); more && !file;) {
        char *path = dw_text_format("%s/%s/LC_MESSAGES/deckwright.mo", folder, name);
        file = dw_words_file_open(path);
        free(path);
        char *part = strrchr(name, '_');
        more = part != NULL;
        if (part)
            *part = '\0';
    }
    free(name);
    return file;
}

// A number as the language writes it tells its mark.
static void find_mark(Language *language)
{
    static const char shown[] = "0.5";
    const char *written = language->file ? dw_words_file_find(language->file, shown) : shown;
    size_t length = strlen(written);
    bool told = length > 2 && length - 2 < sizeof language->mark && written[0] == '0' && written[length - 1] == '5';
    strcpy(language->mark, ".");
    if (told) {
        memcpy(language->mark, written + 1, length - 2);
        language->mark[length - 2] = '\0';
    }
}

static const Language *known(const char *folder, const char *tag)
{
    for (size_t i = 0; i < language_count; i++)
        if (strcmp(languages[i]->folder, folder) == 0 && strcmp(languages[i]->tag, tag) == 0)
            return languages[i];
    return NULL;
}

static const Language *learn(const char *folder, const char *tag)
{
    if (language_count == LANGUAGES_MOST)
        return NULL;
    Language *language = dw_memory_new(1, sizeof *language);
    language->folder = dw_memory_text(folder);
    language->tag = dw_memory_text(tag);
    language->file = read_catalogue(folder, tag);
    find_mark(language);
    language->tongue = (DwTongue){.say = find, .context = language->file, .mark = language->mark};
    languages[language_count++] = language;
    return language;
}

const DwTongue *dw_tongue_of(const char *tag)
{
    const char *folder = dw_locale_folder();
    pthread_mutex_lock(&reading);
    const Language *language = known(folder, tag);
    if (!language)
        language = learn(folder, tag);
    pthread_mutex_unlock(&reading);
    return language && language->file ? &language->tongue : NULL;
}

static bool is_english(const char *tag)
{
    return strncmp(tag, "en", 2) == 0 && !(tag[2] >= 'a' && tag[2] <= 'z');
}

const DwTongue *dw_tongue_of_user(void)
{
    static const char *const variables[] = {"LC_ALL", "LC_MESSAGES", "LANG"};
    const char *locale = "", *list = getenv("LANGUAGE");
    for (size_t i = 0; !*locale && i < sizeof variables / sizeof *variables; i++)
        locale = getenv(variables[i]) ? getenv(variables[i]) : "";
    if (!*locale || strcmp(locale, "C") == 0 || strcmp(locale, "POSIX") == 0)
        return NULL;
    for (const char *at = list && *list ? list : locale; *at;) {
        size_t length = strcspn(at, ":");
        char *tag = dw_text_format("%.*s", (int)length, at);
        bool english = is_english(tag);
        const DwTongue *tongue = english ? NULL : dw_tongue_of(tag);
        free(tag);
        if (english || tongue)
            return tongue;
        at += length + (at[length] == ':');
    }
    return NULL;
}

void dw_tongue_set(const DwTongue *tongue)
{
    of_program = tongue;
}

const DwTongue *dw_tongue_of_program(void)
{
    return of_program;
}

void dw_tongue_use(const DwTongue *tongue)
{
    of_thread = tongue;
    thread_has_own = true;
}

void dw_tongue_drop(void)
{
    of_thread = NULL;
    thread_has_own = false;
}

static const DwTongue *tongue_here(void)
{
    return thread_has_own ? of_thread : of_program;
}

const char *dw_said(const char *text)
{
    const DwTongue *tongue = tongue_here();
    return tongue && *text ? tongue->say(tongue->context, text) : text;
}

// TEXT's parts, each by itself. The caller frees it with free().
static char *say_parts(const char *text)
{
    static const char *const between[] = {N_(", "), N_(" or ")};
    const char *whole = dw_said(text);
    for (size_t i = 0; whole == text && i < sizeof between / sizeof *between; i++) {
        const char *at = strstr(text, between[i]);
        if (!at)
            continue;
        char *first = dw_text_format("%.*s", (int)(at - text), text), *rest = say_parts(at + strlen(between[i]));
        char *said = say_parts(first), *joined = dw_text_format("%s%s%s", said, dw_said(between[i]), rest);
        free(first);
        free(rest);
        free(said);
        return joined;
    }
    return dw_memory_text(whole);
}

// A label that was put together, kept for as long as the program runs.
typedef struct Joined {
    const DwTongue *tongue;
    char *label, *said;
    struct Joined *next;
} Joined;

static Joined *joined_labels;
static pthread_mutex_t joining = PTHREAD_MUTEX_INITIALIZER;

static const char *joined_of(const DwTongue *tongue, const char *label)
{
    Joined *joined = joined_labels;
    while (joined && (joined->tongue != tongue || strcmp(joined->label, label) != 0))
        joined = joined->next;
    if (joined)
        return joined->said;
    joined = dw_memory_new(1, sizeof *joined);
    *joined = (Joined){tongue, dw_memory_text(label), say_parts(label), joined_labels};
    joined_labels = joined;
    return joined->said;
}

const char *dw_said_label(const char *label)
{
    const DwTongue *tongue = tongue_here();
    const char *whole = dw_said(label);
    if (!tongue || whole != label || !(strstr(label, ", ") || strstr(label, " or ")))
        return whole;
    pthread_mutex_lock(&joining);
    const char *said = joined_of(tongue, label);
    pthread_mutex_unlock(&joining);
    return said;
}

const char *dw_said_unit(const char *unit)
{
    return strcmp(unit, "% peak") == 0 ? dw_said("% peak") : unit;
}

// The translation of one pattern alone.
typedef struct {
    const char *pattern, *translation;
} Pattern;

static const char *say_pattern(const void *context, const char *text)
{
    const Pattern *pattern = context;
    return text == pattern->pattern ? pattern->translation : text;
}

char *dw_say_in(const DwTongue *tongue, const char *pattern, va_list arguments)
{
    DwSaying saying = dw_saying_make(pattern, arguments);
    const Pattern only = {saying.pattern, tongue && *pattern ? tongue->say(tongue->context, pattern) : pattern};
    char *text = tongue ? dw_saying_in(&saying, &(DwTongue){.say = say_pattern, .context = &only, .mark = tongue->mark})
                        : dw_memory_text(saying.text);
    dw_saying_clear(&saying);
    return text;
}

char *dw_say(const char *pattern, ...)
{
    va_list arguments;
    va_start(arguments, pattern);
    char *text = dw_say_in(tongue_here(), pattern, arguments);
    va_end(arguments);
    return text;
}

void dw_say_all_into(char *buffer, size_t size, const char *pattern, va_list arguments)
{
    char *text = dw_say_in(tongue_here(), pattern, arguments);
    snprintf(buffer, size, "%.*s", dw_text_whole(text, (int)size - 1), text);
    free(text);
}

void dw_say_into(char *buffer, size_t size, const char *pattern, ...)
{
    va_list arguments;
    va_start(arguments, pattern);
    dw_say_all_into(buffer, size, pattern, arguments);
    va_end(arguments);
}

// Whether TONGUE has each of the words that TEXT joins by " or ".
static bool knows_each(const DwTongue *tongue, const char *text)
{
    const char *end = strstr(text, " or ");
    char *word = end ? dw_text_format("%.*s", (int)(end - text), text) : dw_memory_text(text);
    bool known = tongue->say(tongue->context, word) != word;
    free(word);
    return known && (!end || knows_each(tongue, end + strlen(" or ")));
}

const char *dw_said_words(const char *words)
{
    const DwTongue *tongue = tongue_here();
    const char *said = dw_said(words);
    return tongue && said == words && strstr(words, " or ") && knows_each(tongue, words) ? dw_said_label(words) : said;
}

static const char *say_words(const void *context, const char *text)
{
    (void)context;
    return dw_said_words(text);
}

char *dw_say_saying(const DwSaying *saying)
{
    const DwTongue *tongue = tongue_here();
    return tongue ? dw_saying_in(saying, &(DwTongue){.say = say_words, .mark = tongue->mark})
                  : dw_memory_text(saying->text);
}
