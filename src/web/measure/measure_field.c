// SPDX-License-Identifier: MIT
#include "web/measure/measure_field.h"

#include "base/memory.h"
#include "base/text.h"
#include "chart/draw/number.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// Ids of a field's parts, that its control names.
typedef struct {
    char control[80], help[90], wrong[90], unit[90];
} Ids;

static Ids make_ids(DwPage *page, const char *key)
{
    Ids ids;
    snprintf(ids.control, sizeof ids.control, "q%u-%.60s", page->fields++, key);
    snprintf(ids.help, sizeof ids.help, "%s-help", ids.control);
    snprintf(ids.wrong, sizeof ids.wrong, "%s-wrong", ids.control);
    snprintf(ids.unit, sizeof ids.unit, "%s-unit", ids.control);
    return ids;
}

// What stands when the field is left empty; the caller frees it.
static char *preset_text(const DwQuantity *quantity)
{
    if (quantity->kind != DW_QUANTITY_NUMBER)
        return dw_memory_text(quantity->preset);
    double value;
    if (dw_quantity_read(quantity, quantity->preset, &value, NULL, NULL) != DW_OK)
        return NULL;
    return dw_text_format("%s%s%s", dw_number_print(value, quantity->digits, false).text,
                          dw_number_space(quantity->unit), dw_number_unit(quantity->unit));
}

// Names of people are written as they are theirs; takes and gives what free() frees.
static char *with_names(char *words)
{
    static const char *const names[][2] = {{"loefgren a", N_("Löfgren A")},
                                           {"loefgren b", N_("Löfgren B")},
                                           {"stevenson a", N_("Stevenson A")},
                                           {"stevenson b", N_("Stevenson B")},
                                           {"baerwald", N_("Baerwald")}};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char *at = strstr(words, names[i][0]);
        if (!at)
            continue;
        char *named = dw_text_format("%.*s%s%s", (int)(at - words), words, names[i][1], at + strlen(names[i][0]));
        free(words);
        words = named;
        i--; // it may stand again
    }
    return words;
}

char *dw_measure_field_word(const char *word, size_t length)
{
    char *plain = dw_text_format("%.*s", (int)length, word);
    for (char *at = plain; *at; at++)
        if (*at == '_')
            *at = ' ';
    return with_names(plain);
}

// "From the sheet of 2026-11-26."
static void write_source(DwPage *page, const DwMeasureField *field)
{
    // As dw_job_sheet_prefill() calls them.
    static const char *const sources[] = {N_("the deck's card"),
                                          N_("the arm's card"),
                                          N_("the cartridge's card"),
                                          N_("the record's card"),
                                          N_("what is noted of the deck"),
                                          N_("the shop's only chain"),
                                          N_("its model"),
                                          N_("the year it was made"),
                                          N_("the sheet"),
                                          N_("the set-up"),
                                          N_("what was measured as received")};
    const char *from = field->from && *field->from ? field->from : N_("the book");
    for (size_t i = 0; i < sizeof sources / sizeof *sources; i++)
        if (strcmp(sources[i], from) == 0)
            from = sources[i];
    char *words = field->day && *field->day ? dw_text_format(_("From %s, %s. "), dw_words(from), field->day)
                                            : dw_text_format(_("From %s. "), dw_words(from));
    dw_html_element(page->html, "strong", words, "class", "source", NULL);
    free(words);
}

// The units that a field of DIMENSION takes, as they are printed: "mm, cm, m, in, µm". The caller frees them with
// free().
static char *printed_units(DwDimension dimension)
{
    char *names = dw_unit_names(dimension);
    DwText printed = {0};
    for (char *rest = NULL, *name = strtok_r(names, ", ", &rest); name; name = strtok_r(NULL, ", ", &rest))
        dw_text_add(&printed, "%s%s", printed.length ? ", " : "", dw_number_unit(name));
    free(names);
    return dw_text_take(&printed);
}

static void write_help(DwPage *page, const DwMeasureField *field, const Ids *ids)
{
    const DwQuantity *quantity = field->quantity;
    DwHtml *html = page->html;
    dw_html_open(html, "small", "id", ids->help, NULL);
    if (field->known)
        write_source(page, field);
    const char *words = dw_words(quantity->help);
    char *named = dw_quantity_words(words);
    char *help = quantity->choices ? dw_measure_field_word(named, strlen(named)) : dw_memory_text(named);
    dw_html_text(html, help);
    free(help);
    free(named);
    if (quantity->kind == DW_QUANTITY_PAIR)
        dw_html_format(html, _(" Two values with a colon between, in %s : %s."), dw_number_unit(quantity->unit),
                       dw_number_unit(quantity->second_unit));
    if (quantity->repeats)
        dw_html_text(html, _(" One on each line."));
    char *units = quantity->kind == DW_QUANTITY_NUMBER ? printed_units(quantity->dimension) : NULL;
    if (units && strchr(units, ','))
        dw_html_format(html, _(" Units: %s."), units);
    free(units);
    char *preset = quantity->preset ? preset_text(quantity) : NULL;
    if (preset && quantity->kind != DW_QUANTITY_CHOICE)
        dw_html_format(html, _(" Left empty: %s."), preset);
    free(preset);
    dw_html_close(html, "small");
}

static void write_option(DwPage *page, const char *value, const char *words, bool chosen)
{
    dw_html_element(page->html, "option", words, "value", value, "selected", DW_HTML_IF(chosen), NULL);
}

// What the choice PLAIN is called: a unit by its sign.
static const char *choice_words(const char *plain)
{
    return strcmp(dw_number_unit(plain), plain) != 0 ? dw_number_unit(plain) : dw_words(plain);
}

static void write_choice(DwPage *page, const DwMeasureField *field, const Ids *ids, const char *described)
{
    const DwQuantity *quantity = field->quantity;
    dw_html_open(page->html, "select", "id", ids->control, "name", quantity->key, "aria-describedby", described, NULL);
    char *usual = quantity->preset ? dw_measure_field_word(quantity->preset, strlen(quantity->preset)) : NULL;
    char *words = usual ? dw_text_format(_("Usual: %s"), choice_words(usual)) : dw_memory_text(_("Not stated"));
    write_option(page, "", words, !*field->value);
    free(usual);
    free(words);
    for (const char *at = quantity->choices; *at; at += strspn(at, " ")) {
        size_t length = strcspn(at, " ");
        char *value = dw_text_format("%.*s", (int)length, at), *plain = dw_measure_field_word(at, length);
        write_option(page, value, choice_words(plain), strcmp(value, field->value) == 0);
        free(value);
        free(plain);
        at += length;
    }
    dw_html_close(page->html, "select");
}

// How much of the LENGTH letters at LINE stands before QUANTITY's own unit; all where no such unit ends it, or where
// the number alone would be read otherwise.
static size_t before_unit(const DwQuantity *quantity, const char *line, size_t length)
{
    const DwUnit *own = dw_unit_find(quantity->dimension, quantity->unit);
    char *whole = dw_text_format("%.*s", (int)length, line), *at = whole;
    double value, bare_value;
    size_t kept = length;
    bool is_read = dw_quantity_read(quantity, whole, &value, NULL, NULL) == DW_OK;
    while (*at && dw_unit_find(quantity->dimension, at) != own)
        at++;
    if (is_read && *at) {
        while (at > whole && at[-1] == ' ')
            at--;
        *at = '\0';
        if (dw_quantity_read(quantity, whole, &bare_value, NULL, NULL) == DW_OK && bare_value == value)
            kept = strlen(whole);
    }
    free(whole);
    return kept;
}

char *dw_measure_field_bare(const DwQuantity *quantity, const char *value)
{
    if (quantity->kind != DW_QUANTITY_NUMBER || !quantity->unit || !*quantity->unit)
        return dw_memory_text(value);
    DwText text = {0};
    dw_text_add(&text, "%s", "");
    for (const char *at = value; *at;) {
        size_t line = strcspn(at, "\n");
        dw_text_add(&text, "%.*s%s", (int)before_unit(quantity, at, line), at, at[line] ? "\n" : "");
        at += line + (at[line] != '\0');
    }
    return dw_text_take(&text);
}

static void write_line(DwPage *page, const DwMeasureField *field, const Ids *ids, const char *described)
{
    const DwQuantity *quantity = field->quantity;
    char *value = dw_measure_field_bare(quantity, field->value);
    DwHtml *html = page->html;
    bool number = quantity->kind == DW_QUANTITY_NUMBER;
    const char *invalid = field->wrong ? "true" : DW_HTML_NONE;
    const char *checked = quantity->kind == DW_QUANTITY_TEXT ? DW_HTML_NONE : DW_HTML_BARE;
    const char *unit = dw_number_unit(quantity->unit ? quantity->unit : "");
    char *units = number ? dw_unit_names(quantity->dimension) : NULL;
    const char *pad = number ? units ? units : "" : DW_HTML_NONE; // keypad.js
    dw_html_open(html, "div", "class", "with-unit", NULL);
    if (quantity->repeats)
        dw_html_element(html, "textarea", value, "id", ids->control, "name", quantity->key, "rows", "3", "spellcheck",
                        "false", "aria-describedby", described, "aria-invalid", invalid, "data-check", checked,
                        "data-lines", dw_words(quantity->label), "data-add", _("Add one"), "data-remove", _("Remove"),
                        "data-pad", pad, NULL);
    else
        dw_html_void(html, "input", "type", "text", "inputmode",
                     number && quantity->possible.high > 0 && quantity->possible.low >= 0 ? "decimal" : DW_HTML_NONE,
                     "id", ids->control, "name", quantity->key, "value", value, "autocomplete", "off", "list",
                     field->list ? field->list : DW_HTML_NONE, "aria-describedby", described, "aria-invalid", invalid,
                     "data-check", checked, "data-units", pad, NULL);
    free(units);
    free(value);
    if (number && *unit)
        dw_html_element(html, "span", unit, "class", "unit", "id", ids->unit, NULL);
    dw_html_close(html, "div");
}

void dw_measure_field_write(DwPage *page, const DwMeasureField *field)
{
    const DwQuantity *quantity = field->quantity;
    DwHtml *html = page->html;
    Ids ids = make_ids(page, quantity->key);
    bool has_unit = quantity->kind == DW_QUANTITY_NUMBER && quantity->unit && *quantity->unit;
    char *described = dw_text_format("%s%s%s %s", has_unit ? ids.unit : "", has_unit ? " " : "", ids.wrong, ids.help);
    char *place = dw_text_format("of-%s", quantity->key); // where what a sheet says of it leads to
    dw_html_open(html, "div", "class", "field", "id", field->again ? DW_HTML_NONE : place, NULL);
    free(place);
    dw_html_element(html, "label", dw_words(quantity->label), "for", ids.control, NULL);
    if (quantity->kind == DW_QUANTITY_CHOICE)
        write_choice(page, field, &ids, described);
    else
        write_line(page, field, &ids, described);
    dw_page_words(page, field->wrong ? field->wrong : "", ids.wrong, "wrong", false);
    write_help(page, field, &ids);
    dw_html_close(html, "div");
    free(described);
}
