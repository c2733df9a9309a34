// SPDX-License-Identifier: MIT
// The deck drawn in plan as it lies: its drive, its arm, its cover; each place can
// be touched, and what was marked there is seen at a glance. The same places are
// a list of names beside it, for those who cannot see the drawing.
#include "base/text.h"
#include "web/job/job_page.h"
#include "web/server/words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// The places of the condition map in the order of its words, on a drawing of 412 by 386: the box that
// a place fills, and its outline where that is no box.
typedef struct {
    double x, y, wide, high;
    const char *outline; // of a path; NULL: the box
} Place;

static const Place places[] = {
    {26, 58, 348, 258, NULL},                                                // plinth top
    {26, 318, 348, 24, NULL},                                                // plinth front
    {0, 58, 24, 258, NULL},                                                  // plinth left
    {376, 58, 24, 258, NULL},                                                // plinth right
    {26, 32, 348, 24, NULL},                                                 // plinth back
    {26, 346, 348, 24, NULL},                                                // underside
    {26, 0, 250, 28, NULL},                                                  // cover
    {48, 76, 224, 224, "M48 188a112 112 0 1 0 224 0a112 112 0 1 0 -224 0Z"}, // platter rim
    {64, 92, 192, 192, "M64 188a96 96 0 1 0 192 0a96 96 0 1 0 -192 0Z"},     // mat
    {262, 100, 70, 150, "M319 100L331 106L275 248L263 242Z"},                // arm tube
    {246, 234, 36, 36, "M262 238L280 246L270 270L252 262Z"},                 // headshell
    {243, 258, 30, 30, "M252 262L270 270L264 286L246 278Z"},                 // cartridge
    {282, 0, 92, 28, NULL},                                                  // cable
};
enum { PLACES = sizeof places / sizeof *places };

// PLACES are drawn from the plinth upwards, so that what lies above is touched first.
static const int order[PLACES] = {5, 1, 2, 3, 4, 6, 12, 0, 7, 8, 9, 10, 11};

static void draw_path(DwHtml *html, const char *look, const char *path)
{
    dw_html_element(html, "path", "", "class", look, "d", path, NULL);
}

static void draw_circle(DwHtml *html, const char *look, const char *x, const char *y, const char *radius)
{
    dw_html_element(html, "circle", "", "class", look, "cx", x, "cy", y, "r", radius, NULL);
}

// How the platter is driven: what is seen when it is lifted off, dashed.
static void draw_drive(const DwJobView *view, DwHtml *html)
{
    switch (view->deck.drive) {
    case DW_DECK_DRIVE_BELT:
        draw_circle(html, "part", "52", "86", "9");
        draw_path(html, "hidden", "M55 77.5L172 76.6M44 90L54 220");
        break;
    case DW_DECK_DRIVE_IDLER:
        draw_circle(html, "hidden", "58", "262", "17");
        draw_circle(html, "part", "44", "288", "7");
        break;
    case DW_DECK_DRIVE_DIRECT:
        draw_circle(html, "hidden", "160", "188", "44");
        draw_path(html, "hidden", "M160 144V232M116 188H204M129 157L191 219M191 157L129 219");
        break;
    default:
        break;
    }
    if (view->deck.operation == DW_OPERATION_CHANGER) {
        draw_circle(html, "hidden", "160", "188", "56");
        draw_path(html, "arm", "M286 78L168 180");
    }
}

static void draw_hardware(const DwJobView *view, DwHtml *html)
{
    draw_path(html, "hinge", "M70 44H110M290 44H330");
    draw_path(html, "cord", "M330 56C330 34 350 34 346 16");
    draw_drive(view, html);
    draw_circle(html, "spindle", "160", "188", "4");
    draw_circle(html, "pivot", "324", "102", "19");
    draw_path(html, "arm", "M332 82L324 102");
    draw_path(html, "thick", "M336 72L330 86");
}

static size_t marks_in(const DwRecords *marks, int place)
{
    size_t count = 0;
    for (size_t i = 0; i < marks->count; i++)
        count += ((const DwMark *)dw_records_at(marks, i))->zone == place;
    return count;
}

static void draw_box(DwHtml *html, const Place *place)
{
    char x[16], y[16], wide[16], high[16];
    snprintf(x, sizeof x, "%g", place->x);
    snprintf(y, sizeof y, "%g", place->y);
    snprintf(wide, sizeof wide, "%g", place->wide);
    snprintf(high, sizeof high, "%g", place->high);
    dw_html_element(html, "rect", "", "class", "place", "x", x, "y", y, "width", wide, "height", high, "rx", "6", NULL);
}

static void draw_place(const DwJobView *view, DwHtml *html, const DwRecords *marks, const DwField *zones, int place)
{
    char *word = dw_field_word(zones, place),
         *here = dw_text_format("%s?at=intake&zone=%d#mark-here", view->path, place + 1);
    size_t count = marks_in(marks, place);
    char *said = count ? dw_text_format(dw_words_count("%s, %zu mark", "%s, %zu marks", count), dw_words(word), count)
                       : dw_text_format("%s", dw_words(word));
    char number[16];
    snprintf(number, sizeof number, "%d", place + 1);
    dw_html_open(html, "a", "href", here, "aria-label", said, "data-zone", number, NULL);
    if (places[place].outline)
        draw_path(html, "place", places[place].outline);
    else
        draw_box(html, &places[place]);
    dw_html_close(html, "a");
    free(word);
    free(here);
    free(said);
}

// Where a mark stands on the drawing; one of which only the place is known near its middle, beside those before it.
static void draw_mark(DwHtml *html, const DwMark *mark, size_t number, size_t before)
{
    const Place *place = &places[mark->zone];
    double across = isfinite(mark->across) ? mark->across : 0.5, along = isfinite(mark->along) ? mark->along : 0.5;
    // The middle of the plinth's top lies under the platter.
    if (mark->zone == 0 && !isfinite(mark->across))
        across = 0.9, along = 0.9;
    else if (mark->zone == 7 && !isfinite(mark->across))
        across = 0.15, along = 0.15;
    double aside = isfinite(mark->across) ? 0 : 22.0 * (double)before;
    char move[64], words[24];
    snprintf(move, sizeof move, "translate(%.1f %.1f)", place->x + across * place->wide - aside,
             place->y + along * place->high);
    snprintf(words, sizeof words, "%zu", number);
    dw_html_open(html, "g", "class", "spot", "transform", move, NULL);
    draw_circle(html, "disc", "0", "0", "11");
    dw_html_element(html, "text", words, "text-anchor", "middle", "y", "5", NULL);
    dw_html_close(html, "g");
}

static void draw_marks(DwHtml *html, const DwRecords *marks)
{
    size_t before[PLACES] = {0};
    dw_html_open(html, "g", "aria-hidden", "true", NULL);
    for (size_t i = 0; i < marks->count; i++) {
        const DwMark *mark = (const DwMark *)dw_records_at(marks, i);
        if (mark->zone >= 0 && mark->zone < PLACES)
            draw_mark(html, mark, i + 1, before[mark->zone]++);
    }
    dw_html_close(html, "g");
}

// "1 scratch, 2 dent".
static void write_caption(const DwJobView *view, const DwRecords *marks)
{
    DwHtml *html = view->page->html;
    const DwField *kinds = dw_field_find(&dw_mark_entity, "kind");
    dw_html_open(html, "figcaption", NULL);
    dw_html_text(html, _("Touch a place to mark it."));
    for (size_t i = 0; i < marks->count; i++) {
        char *kind = dw_field_word(kinds, ((const DwMark *)dw_records_at(marks, i))->kind);
        dw_html_format(html, "%s %zu %s", i ? "," : "", i + 1, dw_words(kind));
        free(kind);
    }
    dw_html_close(html, "figcaption");
}

void dw_job_deck_write(DwJobView *view)
{
    DwHtml *html = view->page->html;
    const DwField *zones = dw_field_find(&dw_mark_entity, "zone");
    DwRecords marks = {0};
    if (!view->intake.record.id || dw_record_list(view->request->book, &dw_mark_entity, "intake_id",
                                                  view->intake.record.id, &marks, NULL) != DW_OK)
        return;
    dw_html_open(html, "figure", "class", "deck-plan", NULL);
    dw_html_open(html, "svg", "viewBox", "-2 -2 404 374", "role", "group", "aria-label",
                 _("The deck in plan: its places, to be marked by touching"), NULL);
    for (int i = 0; i < PLACES; i++) {
        draw_place(view, html, &marks, zones, order[i]);
        if (order[i] == 8)
            draw_hardware(view, html);
    }
    draw_marks(html, &marks);
    dw_html_close(html, "svg");
    write_caption(view, &marks);
    dw_html_close(html, "figure");
    dw_records_clear(&marks);
}
