// SPDX-License-Identifier: MIT
#include "web/words.h"

#include "base/text.h"

#include <langinfo.h>
#include <libintl.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DOMAIN "deckwright"

// The process keeps the C locale for numbers, which files and JSON are written in.
static char decimal_mark[8] = ".";

static void find_decimal_mark(void)
{
    locale_t user = newlocale(LC_NUMERIC_MASK, "", (locale_t)0);
    if (!user)
        return;
    const char *mark = nl_langinfo_l(RADIXCHAR, user);
    if (*mark && strlen(mark) < sizeof decimal_mark)
        strcpy(decimal_mark, mark);
    freelocale(user);
}

void dw_words_init(void)
{
    find_decimal_mark();
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

const char *dw_words_decimal(char *buffer, size_t size, double value, int decimals)
{
    char plain[64];
    const char *text = dw_text_decimal(plain, sizeof plain, value, decimals);
    const char *point = strchr(text, '.');
    if (!point)
        snprintf(buffer, size, "%s", text);
    else
        snprintf(buffer, size, "%.*s%s%s", (int)(point - text), text, decimal_mark, point + 1);
    return buffer;
}
