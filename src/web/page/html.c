// SPDX-License-Identifier: MIT
#include "web/page/html.h"

#include "base/memory.h"
#include "base/text.h"

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { DEPTH = 64 };

struct DwHtml {
    DwText text;
    const char *open[DEPTH]; // the tags not yet closed, outermost first
    size_t depth;
};

const char DW_HTML_BARE[] = "";
const char DW_HTML_NONE[] = "";

DwHtml *dw_html_new(void)
{
    return dw_memory_new(1, sizeof(DwHtml));
}

void dw_html_free(DwHtml *html)
{
    if (!html)
        return;
    dw_text_clear(&html->text);
    free(html);
}

// What stands for CHARACTER in text and in a quoted value, or NULL for itself.
static const char *escape(char character)
{
    switch (character) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    }
    // Control characters are not allowed in HTML; tabs and line ends are.
    bool control = ((unsigned char)character < 32 && character != '\n' && character != '\t') || character == 127;
    return control ? "\xEF\xBF\xBD" : NULL;
}

// The bytes of the letter at TEXT if it stands for itself; what is no UTF-8, as a letter that was cut in two, does not.
static size_t plain_letter(const char *text)
{
    return escape(*text) ? 0 : dw_text_letter(text);
}

static size_t plain_bytes(const char *text)
{
    size_t plain = 0;
    for (size_t letter = plain_letter(text); letter > 0; letter = plain_letter(text + plain))
        plain += letter;
    return plain;
}

static void add_escaped(DwText *out, const char *text)
{
    while (*text) {
        size_t plain = plain_bytes(text);
        if (plain)
            dw_text_add(out, "%.*s", (int)plain, text);
        text += plain;
        if (!*text)
            continue;
        const char *instead = escape(*text++);
        dw_text_add(out, "%s", instead ? instead : "\xEF\xBF\xBD");
    }
}

// <TAG with the attributes of LIST.
static void add_tag(DwHtml *html, const char *tag, va_list list)
{
    dw_text_add(&html->text, "<%s", tag);
    const char *name;
    while ((name = va_arg(list, const char *))) {
        const char *value = va_arg(list, const char *);
        assert(value);
        if (value == DW_HTML_NONE)
            continue;
        dw_text_add(&html->text, " %s", name);
        if (value == DW_HTML_BARE)
            continue;
        dw_text_add(&html->text, "=\"");
        add_escaped(&html->text, value);
        dw_text_add(&html->text, "\"");
    }
    dw_text_add(&html->text, ">");
}

static void push(DwHtml *html, const char *tag)
{
    assert(html->depth < DEPTH);
    html->open[html->depth++] = tag;
}

void dw_html_open(DwHtml *html, const char *tag, ...)
{
    va_list list;
    va_start(list, tag);
    add_tag(html, tag, list);
    va_end(list);
    push(html, tag);
}

void dw_html_close(DwHtml *html, const char *tag)
{
    assert(html->depth > 0 && strcmp(html->open[html->depth - 1], tag) == 0);
    html->depth--;
    dw_text_add(&html->text, "</%s>", tag);
}

void dw_html_void(DwHtml *html, const char *tag, ...)
{
    va_list list;
    va_start(list, tag);
    add_tag(html, tag, list);
    va_end(list);
}

void dw_html_element(DwHtml *html, const char *tag, const char *text, ...)
{
    va_list list;
    va_start(list, text);
    add_tag(html, tag, list);
    va_end(list);
    push(html, tag);
    dw_html_text(html, text);
    dw_html_close(html, tag);
}

void dw_html_text(DwHtml *html, const char *text)
{
    if (text)
        add_escaped(&html->text, text);
}

void dw_html_format(DwHtml *html, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    char *text = NULL;
    int length = vasprintf(&text, format, list);
    va_end(list);
    assert(length >= 0);
    dw_html_text(html, text);
    free(text);
}

char *dw_html_take(DwHtml *html, size_t *length)
{
    assert(html->depth == 0);
    *length = html->text.length;
    return dw_text_take(&html->text);
}
