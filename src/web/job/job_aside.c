// SPDX-License-Identifier: MIT
// The job's page: what stands beside the work. The deck in plan, what is known of
// it and of what is on it, and its pictures.
#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "book/entry/entry.h"
#include "book/shop/arm.h"
#include "book/shop/cartridge.h"
#include "book/store/attachment.h"
#include "chart/draw/number.h"
#include "web/job/job_page.h"
#include "web/record/record_form.h"
#include "web/server/words.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { VALUES_MOST = 8, PICTURES_MOST = 4 };

// A fact in a line of facts: what it is in quiet ink, then its value.
static void write_fact(DwHtml *html, bool *begun, const char *name, const char *value)
{
    if (!*value)
        return;
    if (*begun)
        dw_html_text(html, " · ");
    *begun = true;
    dw_html_element(html, "span", name, "class", "quiet", NULL);
    dw_html_text(html, " ");
    dw_html_element(html, "strong", value, NULL);
}

// VALUE, which was typed with its unit, as it is printed: "14 µm/mN". The caller frees it with free().
static char *printed(const char *value)
{
    const char *unit = strrchr(value, ' ');
    if (!unit || unit == value || !isdigit((unsigned char)unit[-1]))
        return dw_memory_text(value);
    return dw_text_format("%.*s%s%s", (int)(unit - value), value, dw_number_space(unit + 1), dw_number_unit(unit + 1));
}

// The fields KEYS of RECORD that say something.
static void write_fields(DwJobView *view, const DwRecord *record, const char *const *keys, bool *begun)
{
    for (; *keys; keys++) {
        const DwField *field = dw_field_find(record->entity, *keys);
        char *words = dw_record_form_words(view->request, record, field);
        bool says = strcmp(words, dw_words("unknown")) != 0 && strcmp(words, "0") != 0;
        write_fact(view->page->html, begun, dw_words(field->label), says ? words : "");
        free(words);
    }
}

static void write_deck(DwJobView *view)
{
    static const char *const keys[] = {"serial", "drive", "operation", "made_year", "class", "motor", NULL};
    bool begun = false;
    dw_html_open(view->page->html, "p", NULL);
    write_fields(view, &view->deck.record, keys, &begun);
    dw_html_close(view->page->html, "p");
}

// Grams first, as a technician says them.
static void write_force(DwJobView *view, const DwCartridge *cartridge, bool *begun)
{
    const double mn_per_g = 9.80665; // standard gravity, exact (CGPM 1901)
    if (!isfinite(cartridge->force_low_mn) || !isfinite(cartridge->force_high_mn))
        return;
    char low[32], high[32];
    char *words =
        dw_text_format(_("%s to %s g"), dw_text_decimal(low, sizeof low, cartridge->force_low_mn / mn_per_g, 2),
                       dw_text_decimal(high, sizeof high, cartridge->force_high_mn / mn_per_g, 2));
    write_fact(view->page->html, begun, _("Tracking force"), words);
    free(words);
}

// The arm or the cartridge that came to the deck last, which is the one on it.
static void write_fitted(DwJobView *view, const DwEntity *entity, const char *const *keys)
{
    DwRecords records = {0};
    bool begun = false;
    if (dw_record_newest(view->request->book, entity, "deck_id", view->deck.record.id, 1, &records, NULL) == DW_OK &&
        records.count) {
        const DwRecord *record = dw_records_at(&records, 0);
        char *title = dw_entry_title(view->request->book, record);
        dw_html_open(view->page->html, "p", NULL);
        write_fact(view->page->html, &begun, dw_words(entity->label), title);
        write_fields(view, record, keys, &begun);
        if (entity == &dw_cartridge_entity)
            write_force(view, (const DwCartridge *)record, &begun);
        dw_html_close(view->page->html, "p");
        free(title);
    }
    dw_records_clear(&records);
}

// What was typed or measured once and is noted for the deck.
static void write_values(DwJobView *view)
{
    DwRecords records = {0};
    bool begun = false;
    dw_record_newest(view->request->book, &dw_deck_value_entity, "deck_id", view->deck.record.id, VALUES_MOST, &records,
                     NULL);
    dw_html_open(view->page->html, "p", NULL);
    for (size_t i = 0; i < records.count; i++) {
        const DwDeckValue *value = (const DwDeckValue *)dw_records_at(&records, i);
        const DwQuantity *quantity = dw_quantity_find(value->key);
        char *words = printed(value->value);
        write_fact(view->page->html, &begun, quantity ? dw_words(quantity->label) : value->key, words);
        free(words);
    }
    dw_html_close(view->page->html, "p");
    dw_records_clear(&records);
}

static void write_head(DwHtml *html, const char *words, const char *path, const char *link)
{
    dw_html_open(html, "div", "class", "aside-head", NULL);
    dw_html_element(html, "h2", words, NULL);
    dw_html_element(html, "a", link, "href", path, NULL);
    dw_html_close(html, "div");
}

static void write_known(DwJobView *view)
{
    static const char *const arm[] = {"pivot_to_spindle_mm", "effective_length_mm", NULL}, *const nothing[] = {NULL};
    DwHtml *html = view->page->html;
    char *path = dw_text_format("/book/deck/%lld", (long long)view->deck.record.id);
    write_head(html, _("What is known"), path, _("change"));
    dw_html_open(html, "div", "class", "known", NULL);
    write_deck(view);
    write_fitted(view, &dw_arm_entity, arm);
    write_fitted(view, &dw_cartridge_entity, nothing);
    write_values(view);
    dw_html_close(html, "div");
    if (view->deck.lesson && *view->deck.lesson)
        dw_html_element(html, "p", view->deck.lesson, "class", "remark", NULL);
    free(path);
}

static void write_pictures(DwJobView *view)
{
    DwHtml *html = view->page->html;
    DwRecords all = {0};
    char *path = dw_text_format("%s/photos", view->path);
    char *words = view->numbers.photos ? dw_text_format(_("%ld · take one"), (long)view->numbers.photos)
                                       : dw_text_format("%s", _("take one"));
    write_head(html, _("Photographs"), path, words);
    dw_html_open(html, "div", "class", "strip", NULL);
    dw_attachment_of_job(view->request->book, view->job.record.id, &all, NULL);
    size_t shown = 0;
    for (size_t i = all.count; i-- > 0 && shown < PICTURES_MOST;) {
        const DwAttachment *picture = (const DwAttachment *)dw_records_at(&all, i);
        if (!dw_attachment_is_picture(picture))
            continue;
        char *place = dw_text_format("/photo/%lld", (long long)picture->record.id);
        char *small = dw_text_format("%s/small?turn=%d", place, (int)picture->turn);
        dw_html_open(html, "a", "href", place, NULL);
        dw_html_void(html, "img", "src", small, "alt", dw_attachment_name(picture), "loading", "lazy", NULL);
        dw_html_close(html, "a");
        free(place);
        free(small);
        shown++;
    }
    dw_html_close(html, "div");
    dw_records_clear(&all);
    free(path);
    free(words);
}

void dw_job_aside_write(DwJobView *view)
{
    dw_html_open(view->page->html, "aside", "aria-label", _("The deck"), NULL);
    if (view->open != DW_STATION_INTAKE)
        dw_job_deck_write(view);
    if (view->deck.record.id)
        write_known(view);
    write_pictures(view);
    dw_html_close(view->page->html, "aside");
}
