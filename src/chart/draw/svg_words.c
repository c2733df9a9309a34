// SPDX-License-Identifier: MIT
#include "chart/draw/svg_words.h"

#include "base/memory.h"

#include <glib.h>
#include <string.h>

// XML allows no control characters, not even escaped.
static void add_escaped(DwText *to, const char *raw)
{
    char *valid = g_utf8_make_valid(raw, -1);
    for (const char *at = valid; *at; at++) {
        switch (*at) {
        case '<':
            dw_text_add(to, "&lt;");
            break;
        case '>':
            dw_text_add(to, "&gt;");
            break;
        case '&':
            dw_text_add(to, "&amp;");
            break;
        case '"':
            dw_text_add(to, "&quot;");
            break;
        default:
            dw_text_add(to, "%c", (unsigned char)*at < 0x20 ? ' ' : *at);
        }
    }
    g_free(valid);
}

char *dw_svg_words_insert(const char *svg, const char *title, const char *description)
{
    const char *element = strstr(svg, "<svg");
    const char *end = element ? strchr(element, '>') : NULL;
    if (!end)
        return dw_memory_text(svg);
    const char *inside = element + strlen("<svg");
    DwText text = {0};
    dw_text_add(&text, "%.*s role=\"img\" aria-labelledby=\"sheet-title sheet-description\"%.*s>\n",
                (int)(inside - svg), svg, (int)(end - inside), inside);
    dw_text_add(&text, "<title id=\"sheet-title\">");
    add_escaped(&text, title);
    dw_text_add(&text, "</title>\n<desc id=\"sheet-description\">");
    add_escaped(&text, description);
    dw_text_add(&text, "</desc>%s", end + 1);
    return dw_text_take(&text);
}
