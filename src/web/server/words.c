// SPDX-License-Identifier: MIT
#include "web/server/words.h"

#include <libintl.h>
#include <stdlib.h>

#define DOMAIN "deckwright"

void dw_words_init(void)
{
    const char *folder = getenv("DECKWRIGHT_WORDS"); // for trying a catalogue that is not installed
    bindtextdomain(DOMAIN, folder ? folder : DW_LOCALE_FOLDER);
    bind_textdomain_codeset(DOMAIN, "UTF-8");
}

const char *dw_words(const char *text)
{
    return dgettext(DOMAIN, text);
}

const char *dw_words_count(const char *one, const char *many, unsigned long count)
{
    return dngettext(DOMAIN, one, many, count);
}
