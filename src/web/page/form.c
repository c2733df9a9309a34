// SPDX-License-Identifier: MIT
#include "base/text.h"
#include "web/page/page.h"
#include "web/server/access.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void add_form_token(DwPage *page)
{
    char token[65];
    if (!*page->once) {
        dw_access_token(token);
        snprintf(page->once, sizeof page->once, "%.32s", token);
    }
    dw_html_void(page->html, "input", "type", "hidden", "name", "form_token", "value", page->request->form_token, NULL);
    dw_html_void(page->html, "input", "type", "hidden", "name", "once", "value", page->once, NULL);
}

void dw_form_once_more(DwPage *page)
{
    const char *word = dw_request_field(page->request, "once");
    if (dw_answer_is_word(word))
        snprintf(page->once, sizeof page->once, "%s", word);
}

void dw_form_begin(DwPage *page, const char *action, bool keep)
{
    dw_html_open(page->html, "form", "method", "post", "action", action, "data-keep", DW_HTML_IF(keep), NULL);
    add_form_token(page);
}

void dw_form_begin_files(DwPage *page, const char *action)
{
    dw_html_open(page->html, "form", "method", "post", "action", action, "enctype", "multipart/form-data", NULL);
    add_form_token(page);
}

void dw_form_end(DwPage *page)
{
    dw_html_close(page->html, "form");
}

void dw_form_button(DwPage *page, const char *words)
{
    dw_html_element(page->html, "button", words, "type", "submit", NULL);
}

// Begins a field and gives the ids of its control and of its help.
static void begin_field(DwPage *page, const char *name, const char *label, char id[80])
{
    snprintf(id, 80, "f%u-%.64s", page->fields++, name);
    dw_html_open(page->html, "div", "class", "field", NULL);
    dw_html_element(page->html, "label", label, "for", id, NULL);
}

static void end_field(DwPage *page, const char *id, const char *help)
{
    if (help && *help) {
        char *help_id = dw_text_format("%s-help", id);
        dw_html_element(page->html, "small", help, "id", help_id, NULL);
        free(help_id);
    }
    dw_html_close(page->html, "div");
}

// The id of the help as an attribute's value, which the caller frees; NULL without help.
static char *described_by(const char *id, const char *help)
{
    return help && *help ? dw_text_format("%s-help", id) : NULL;
}

void dw_form_text(DwPage *page, const char *name, const char *label, const char *value, const char *type,
                  const char *help)
{
    char id[80];
    begin_field(page, name, label, id);
    char *described = described_by(id, help);
    // A number is a text to the page, with whatever decimal mark and unit; a telephone shows its figures.
    bool number = strcmp(type, "number") == 0;
    dw_html_void(page->html, "input", "type", number ? "text" : type, "inputmode", number ? "decimal" : DW_HTML_NONE,
                 "data-units", number ? "" : DW_HTML_NONE, "id", id, "name", name, "value", value ? value : "",
                 "autocomplete", "off", "aria-describedby", described ? described : DW_HTML_NONE, NULL);
    free(described);
    end_field(page, id, help);
}

void dw_form_area(DwPage *page, const char *name, const char *label, const char *value, const char *help)
{
    char id[80];
    begin_field(page, name, label, id);
    char *described = described_by(id, help);
    dw_html_element(page->html, "textarea", value ? value : "", "id", id, "name", name, "rows", "3", "aria-describedby",
                    described ? described : DW_HTML_NONE, NULL);
    free(described);
    end_field(page, id, help);
}

void dw_form_tick(DwPage *page, const char *name, const char *label, bool ticked)
{
    dw_html_open(page->html, "label", "class", "tick", NULL);
    // A tick taken away would send nothing: the empty value before it is what "off" sends.
    dw_html_void(page->html, "input", "type", "hidden", "name", name, "value", "no", NULL);
    dw_html_void(page->html, "input", "type", "checkbox", "name", name, "value", "yes", "checked", DW_HTML_IF(ticked),
                 NULL);
    dw_html_element(page->html, "span", label, NULL);
    dw_html_close(page->html, "label");
}

void dw_form_choice(DwPage *page, const char *name, const char *label, const char *const *words,
                    const char *const *values, size_t count, const char *chosen, const char *help)
{
    char id[80];
    begin_field(page, name, label, id);
    char *described = described_by(id, help);
    dw_html_open(page->html, "select", "id", id, "name", name, "aria-describedby", described ? described : DW_HTML_NONE,
                 NULL);
    for (size_t i = 0; i < count; i++) {
        const char *value = values ? values[i] : words[i];
        dw_html_element(page->html, "option", words[i], "value", value, "selected",
                        DW_HTML_IF(chosen && strcmp(chosen, value) == 0), NULL);
    }
    dw_html_close(page->html, "select");
    free(described);
    end_field(page, id, help);
}
