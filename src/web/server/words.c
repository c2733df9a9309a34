// SPDX-License-Identifier: MIT
#include "web/server/words.h"

#include "base/memory.h"
#include "base/place.h"
#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/number.h"

#include <libintl.h>
#include <stdlib.h>
#include <string.h>

#define DOMAIN "deckwright"

static const char *say(const void *context, const char *text)
{
    (void)context;
    return dw_words(text);
}

void dw_words_init(void)
{
    bindtextdomain(DOMAIN, dw_locale_folder());
    bind_textdomain_codeset(DOMAIN, "UTF-8");
    // What is drawn speaks as the pages do; the catalogue's head is what stands for nothing.
    static DwTongue pages = {.say = say};
    pages.mark = dw_number_mark();
    dw_tongue_set(*dgettext(DOMAIN, "") ? &pages : NULL);
}

const char *dw_words(const char *text)
{
    return *text ? dgettext(DOMAIN, text) : text; // of nothing gettext would give the catalogue's header
}

char *dw_words_joined(const char *text)
{
    return dw_memory_text(dw_said_label(text));
}

const char *dw_words_count(const char *one, const char *many, unsigned long count)
{
    return dngettext(DOMAIN, one, many, count);
}
