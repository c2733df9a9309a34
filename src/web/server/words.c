// SPDX-License-Identifier: MIT
#include "web/server/words.h"

#include "base/place.h"

#include <libintl.h>

#define DOMAIN "deckwright"

void dw_words_init(void)
{
    bindtextdomain(DOMAIN, dw_locale_folder());
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
