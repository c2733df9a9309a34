// SPDX-License-Identifier: MIT
#include "web/server/words.h"

#include "base/memory.h"
#include "base/place.h"
#include "base/text.h"

#include <libintl.h>
#include <stdlib.h>
#include <string.h>

#define DOMAIN "deckwright"

void dw_words_init(void)
{
    bindtextdomain(DOMAIN, dw_locale_folder());
    bind_textdomain_codeset(DOMAIN, "UTF-8");
}

const char *dw_words(const char *text)
{
    return *text ? dgettext(DOMAIN, text) : text; // of nothing gettext would give the catalogue's header
}

char *dw_words_joined(const char *text)
{
    static const char *const between[] = {N_(", "), N_(" or ")};
    const char *whole = dw_words(text);
    for (size_t i = 0; whole == text && i < sizeof between / sizeof *between; i++) {
        const char *at = strstr(text, between[i]);
        if (!at)
            continue;
        char *first = dw_text_format("%.*s", (int)(at - text), text), *rest = dw_words_joined(at + strlen(between[i]));
        char *said = dw_words_joined(first), *joined = dw_text_format("%s%s%s", said, dw_words(between[i]), rest);
        free(first);
        free(rest);
        free(said);
        return joined;
    }
    return dw_memory_text(whole);
}

const char *dw_words_count(const char *one, const char *many, unsigned long count)
{
    return dngettext(DOMAIN, one, many, count);
}
