// SPDX-License-Identifier: MIT
#include "web/measure/sheet_view.h"

#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "chart/sheet/sheet_picture.h"
#include "web/job/job_line.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

static void write_meta(DwPage *page, const DwSheetView *view)
{
    const DwSheetInput *record = dw_measurement_input(view->sheet, "record.name"),
                       *chain = dw_measurement_input(view->sheet, "chain.name");
    DwMomentWords at = dw_page_moment(view->from ? view->from->at : NULL);
    const char *facts[][2] = {
        {N_("Recording"), view->sheet->subject},
        {N_("Test record"), view->from ? view->from->test_record
                            : record   ? record->text
                                       : ""},
        {N_("Recording chain"), view->from ? view->from->chain
                                : chain    ? chain->text
                                           : ""},
        {N_("Instrument"), view->from ? view->from->instrument : ""},
        {N_("Measured"), at.text},
        {N_("By"), view->from ? view->from->who : ""},
    };
    DwHtml *html = page->html;
    dw_html_open(html, "dl", "class", "facts", NULL);
    for (size_t i = 0; i < sizeof facts / sizeof *facts; i++) {
        if (!facts[i][1] || !*facts[i][1])
            continue;
        dw_html_element(html, "dt", dw_words(facts[i][0]), NULL);
        dw_html_element(html, "dd", facts[i][1], NULL);
    }
    dw_html_close(html, "dl");
}

// How the sheet stands as a whole is its worst reading, never a mean.
static void write_verdict(DwPage *page, const DwSheet *sheet)
{
    DwVerdict worst = dw_sheet_worst_verdict(sheet);
    if (worst == DW_VERDICT_NONE)
        return;
    dw_html_open(page->html, "p", "class", "lead", NULL);
    dw_page_verdict(page, worst);
    if (dw_sheet_is_flagged(sheet))
        dw_html_element(page->html, "span", _(" Some readings are doubtful: they say why."), "class", "quiet", NULL);
    dw_html_close(page->html, "p");
}

static void write_legend(DwPage *page, const DwSheetView *view)
{
    if (view->before)
        dw_html_element(page->html, "p",
                        _("Hollow marks and dashed lines: as received. Filled marks and solid lines: as left."),
                        "class", "quiet", NULL);
}

static size_t count_left(const bool *written, size_t count)
{
    size_t left = 0;
    for (size_t i = 0; i < count; i++)
        left += !written[i];
    return left;
}

static void write_caution(DwPage *page, const DwSheetView *view, const DwSaying *caution)
{
    dw_html_open(page->html, "p", "class", "caution", NULL);
    dw_html_element(page->html, "strong", _("Caution"), NULL);
    dw_html_text(page->html, " ");
    dw_sheet_say(page, view, caution);
    dw_html_close(page->html, "p");
}

// The readings that are large, which it notes in LARGE, and what to heed.
static void write_large(DwPage *page, const DwSheetView *view, const DwSheetPage *pictures, bool *large)
{
    DwHtml *html = page->html;
    dw_html_open(html, "section", "class", "readings", "aria-label", _("Readings"), NULL);
    for (size_t i = 0; i < pictures->large_count; i++) {
        large[pictures->large[i]] = true;
        dw_sheet_reading_write_large(page, view, &view->sheet->readings[pictures->large[i]]);
    }
    dw_html_close(html, "section");
    for (size_t i = 0; i < view->sheet->caution_count; i++)
        write_caution(page, view, &view->sheet->cautions[i]);
}

static void write_further(DwPage *page, const DwSheetView *view, bool *large)
{
    dw_sheet_bands_write(page, view, large);
    if (count_left(large, view->sheet->reading_count))
        dw_sheet_table_write_readings(page, view, large);
}

// One source of a picture for screens of MEDIA; the last, for all others, is the image with its WORDS.
static void write_source(DwPage *page, const DwSheetView *view, size_t picture, const char *media, unsigned width,
                         const char *look, const char *words)
{
    char *path = dw_text_format("%s/picture/%zu?wide=%u&look=%s%s%s", view->place, picture + 1, width, look,
                                *view->query ? "&" : "", view->query);
    if (media)
        dw_html_void(page->html, "source", "media", media, "srcset", path, "type", "image/svg+xml", NULL);
    else
        dw_html_void(page->html, "img", "src", path, "alt", words, "loading", "lazy", NULL);
    free(path);
}

static void write_pictures(DwPage *page, const DwSheetView *view, const DwSheetPage *pictures)
{
    DwHtml *html = page->html;
    size_t count = dw_sheet_picture_count(pictures);
    if (!count)
        return;
    dw_html_open(html, "div", "class", "strip", "role", "region", "tabindex", "0", "aria-label", _("Pictures"), NULL);
    for (size_t i = 0; i < count; i++) {
        char *words = dw_sheet_picture_words(pictures, i);
        dw_html_open(html, "figure", NULL);
        dw_html_open(html, "picture", NULL);
        write_source(page, view, i, "(max-width: 640px) and (prefers-color-scheme: dark)", 480, "dark", words);
        write_source(page, view, i, "(max-width: 640px)", 480, "light", words);
        write_source(page, view, i, "(prefers-color-scheme: dark)", 800, "dark", words);
        write_source(page, view, i, NULL, 800, "light", words);
        dw_html_close(html, "picture");
        dw_html_close(html, "figure");
        free(words);
    }
    dw_html_close(html, "div");
}

static void write_remarks(DwPage *page, const DwSheetView *view)
{
    const DwSheet *sheet = view->sheet;
    if (!sheet->remark_count)
        return;
    dw_html_element(page->html, "h2", _("Remarks"), NULL);
    dw_html_open(page->html, "div", "class", "remarks", "data-more", _("Further remarks"), NULL);
    for (size_t i = 0; i < sheet->remark_count; i++) {
        dw_html_open(page->html, "p", NULL);
        dw_sheet_say(page, view, &sheet->remarks[i]);
        dw_html_close(page->html, "p");
    }
    dw_html_close(page->html, "div");
}

static void write_missing(DwPage *page, const DwSheetView *view)
{
    const DwSheet *sheet = view->sheet;
    DwHtml *html = page->html;
    if (!sheet->not_measured_count)
        return;
    dw_html_element(html, "h2", _("Not measured"), "data-fold", DW_HTML_BARE, NULL);
    dw_html_open(html, "dl", "class", "missing", NULL);
    for (size_t i = 0; i < sheet->not_measured_count; i++) {
        char *name = dw_sheet_missing_name(sheet->not_measured[i].key);
        dw_sheet_say_words(html, "dt", name, NULL);
        free(name);
        dw_html_open(html, "dd", NULL);
        dw_sheet_say(page, view, &sheet->not_measured[i].reason);
        dw_html_close(html, "dd");
    }
    dw_html_close(html, "dl");
}

void dw_sheet_view_write(DwPage *page, const DwSheetView *view)
{
    DwSheetPage *pictures = dw_sheet_page_new(view->sheet, view->before);
    bool *large = dw_memory_new(view->sheet->reading_count + 1, sizeof *large);
    write_verdict(page, view->sheet);
    write_meta(page, view);
    write_legend(page, view);
    write_large(page, view, pictures, large);
    dw_html_open(page->html, "div", "class", "rest", NULL);
    write_further(page, view, large);
    write_pictures(page, view, pictures);
    for (size_t i = 0; i < view->sheet->table_count; i++)
        dw_sheet_table_write(page, &view->sheet->tables[i]);
    write_remarks(page, view);
    write_missing(page, view);
    dw_sheet_table_write_inputs(page, view->sheet);
    dw_html_close(page->html, "div");
    free(large);
    dw_sheet_page_free(pictures);
}
