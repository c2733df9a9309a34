// SPDX-License-Identifier: MIT
#include "base/quantity.h"
#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/number.h"
#include "procedure/registry/procedure.h"
#include "web/measure/sheet_view.h"
#include "web/server/words.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

void dw_sheet_say_words(DwHtml *html, const char *tag, const char *label, const char *look)
{
    char *words = dw_words_joined(label);
    dw_html_element(html, tag, words, "class", look ? look : DW_HTML_NONE, NULL);
    free(words);
}

static const char *say(const void *context, const char *text)
{
    (void)context;
    return dw_said_words(text);
}

// The address of the field of ROW in the form of the sheet's procedure; NULL where that has none.
static char *field_path(const DwSheetView *view, const DwQuantity *row)
{
    const DwProcedure *procedure = view->next ? dw_procedure_find(view->sheet->procedure) : NULL;
    if (!procedure || !dw_procedure_takes(procedure, row->key))
        return NULL;
    char *form = dw_sheet_next_path(view->next, procedure->name);
    char *path = dw_text_format("%s#of-%s", form, row->key);
    free(form);
    return path;
}

static void name_quantity(DwPage *page, const DwSheetView *view, const DwQuantity *row)
{
    char *path = field_path(view, row);
    if (path)
        dw_html_element(page->html, "a", dw_words(row->label), "href", path, NULL);
    else
        dw_html_format(page->html, "“%s”", dw_words(row->label));
    free(path);
}

// The value of ROW at AT, "=" behind its key, as the reader writes it. Returned: what follows.
static const char *say_value(DwPage *page, const DwQuantity *row, const char *at)
{
    size_t length;
    char *choice = dw_quantity_choice_at(row, at, &length);
    if (choice) {
        dw_html_text(page->html, dw_words(choice));
        at += length;
    }
    free(choice);
    if (row->kind == DW_QUANTITY_NUMBER)
        for (; *at && strchr("-+0123456789.", *at) && !(*at == '.' && !isdigit((unsigned char)at[1])); at++)
            dw_html_format(page->html, *at == '.' ? "%s" : "%.1s", *at == '.' ? dw_number_mark() : at);
    return at;
}

void dw_sheet_say(DwPage *page, const DwSheetView *view, const DwSaying *saying)
{
    char *text = dw_saying_in(saying, &(DwTongue){.say = say, .mark = dw_number_mark()});
    const char *at = text, *key;
    size_t length;
    for (const DwQuantity *row; (row = dw_quantity_in(text, at, &key, &length));) {
        dw_html_format(page->html, "%.*s", (int)(key - at), at);
        name_quantity(page, view, row);
        bool given = key[length] == '=';
        if (given)
            dw_html_text(page->html, " ");
        at = key + length + given;
        if (given)
            at = say_value(page, row, at);
    }
    dw_html_text(page->html, at);
    free(text);
}
