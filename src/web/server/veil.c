// SPDX-License-Identifier: MIT
// What a device is told of trouble names no place on the bench computer's disk:
// who is in the shop's network has no use for it, and who wants in has.
#include "base/memory.h"
#include "base/text.h"
#include "book/shop/settings.h"
#include "procedure/registry/limits.h"
#include "web/server/private.h"

#include <stdlib.h>
#include <string.h>

enum { PLACES_MOST = 16 };

// Places whose names may hold blanks, so that their end cannot be seen.
typedef struct {
    char *names[PLACES_MOST];
    size_t count;
} Places;

static void add(Places *places, const char *name)
{
    if (places->count < PLACES_MOST && name[0] == '/' && name[1])
        places->names[places->count++] = dw_memory_text(name);
}

static Places known_places(const DwWebRequest *request)
{
    Places places = {.count = 0};
    add(&places, request->server->folder);
    add(&places, dw_data_folder());
    for (size_t i = 0; request->book && dw_settings_at(i); i++) {
        const DwField *field = &dw_settings_at(i)->field;
        char *value = field->kind == DW_FIELD_PATH ? dw_settings_text(request->book, field->key) : NULL;
        if (value)
            add(&places, value);
        free(value);
    }
    return places;
}

// Whether a path may begin at AT of WORDS.
static bool begins(const char *words, size_t at)
{
    if (words[at] != '/' || words[at + 1] == '\0' || strchr(" \t\n/", words[at + 1]))
        return false;
    // “ and ‘ end in these bytes.
    return at == 0 || strchr(" \t\n\"'(=:,;>\x9C\x98", words[at - 1]);
}

// How long the path at WORDS is: a known one and what hangs on it, else up to what no path holds.
static size_t path_length(const Places *places, const char *words)
{
    size_t length = 1;
    for (size_t i = 0; i < places->count; i++) {
        size_t known = strlen(places->names[i]);
        if (known > length && strncmp(words, places->names[i], known) == 0)
            length = known;
    }
    length += strcspn(words + length, " \t\n\"'():,;<>\xE2");
    while (length > 1 && words[length - 1] == '.')
        length--;
    return length;
}

char *dw_veil(const DwWebRequest *request, const char *words)
{
    if (request->local || !strchr(words, '/'))
        return dw_memory_text(words);
    Places places = known_places(request);
    DwText text = {0};
    size_t from = 0, at = 0;
    while (words[at]) {
        if (!begins(words, at)) {
            at++;
            continue;
        }
        dw_text_add(&text, "%.*s…", (int)(at - from), words + from);
        at += path_length(&places, words + at);
        from = at;
    }
    dw_text_add(&text, "%s", words + from);
    for (size_t i = 0; i < places.count; i++)
        free(places.names[i]);
    return dw_text_take(&text);
}
