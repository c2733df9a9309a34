// SPDX-License-Identifier: MIT
// The part of a photograph's page that measures on it: the picture with what was
// marked, the list of it, and the form that marks more.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/job.h"
#include "book/job/photo.h"
#include "chart/draw/number.h"
#include "web/page/page.h"
#include "web/photo/photo.h"
#include "web/server/words.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    POINTS_MOST = 4,
    LABEL_LEAST = 5,
    MARKS_MOST = 60, // that stand on the picture at once: a book from before that bound may hold more
};
static const double LETTER_WIDE = 0.6; // of its size, about

// What can be marked: the places to put points on in turn, parted by '|'.
typedef struct {
    const char *name;
    const char *words;
    const char *points;
} Kind;

static const Kind kinds[] = {
    {"length", N_("Length"), N_("One end|The other end")},
    {"angle", N_("Angle between two lines"),
     N_("First line, one end|First line, other end|Second line, one end|Second line, other end")},
    {"rake", N_("Rake of the stylus"),
     N_("The stylus's tip on the record|The stylus's axis, farther up|The record's surface, towards the pivot")},
    {"flat", N_("Worn flat (small length)"), N_("One edge of the flat|Its other edge")},
    {"arrow", N_("Arrow"), N_("Where the arrow begins|What it points at")},
    {"circle", N_("Circle"), N_("The middle of the circle|A place on the circle")},
    {"words", N_("Words on the picture"), N_("Where the words begin|Where they end")},
    {"crop", N_("Cut for the report"), N_("One corner of what the report shows|The opposite corner")},
    {"lighten", N_("Lighter in the report"), N_("One corner of the place that is too dark|The opposite corner")},
    {"scale", N_("Scale: a length that is known"), N_("One end of what is known|Its other end")},
};
enum { KINDS = sizeof kinds / sizeof *kinds };

// What was marked, and which of it is shown: from FIRST (0 first) up to END, which is not.
typedef struct {
    DwRecords all;
    size_t first, end;
} Marks;

typedef struct {
    double x, y;
} Point;

// A picture as it is shown: its sides before the turn, and the turn.
typedef struct {
    int width, height, turn;
} Board;

// Where a point of the upright picture stands after the turn.
static Point shown(const Board *board, double x, double y)
{
    switch (board->turn) {
    case 1:
        return (Point){board->height - y, x};
    case 2:
        return (Point){board->width - x, board->height - y};
    case 3:
        return (Point){y, board->width - x};
    default:
        return (Point){x, y};
    }
}

static int shown_width(const Board *board)
{
    return board->turn % 2 ? board->height : board->width;
}

static int shown_height(const Board *board)
{
    return board->turn % 2 ? board->width : board->height;
}

static void write_line(DwPage *page, double x1, double y1, double x2, double y2)
{
    char texts[4][32];
    const double values[] = {x1, y1, x2, y2};
    if (!isfinite(x1 + y1 + x2 + y2))
        return;
    for (size_t i = 0; i < 4; i++)
        dw_text_decimal(texts[i], sizeof texts[i], values[i], 2);
    dw_html_open(page->html, "line", "x1", texts[0], "y1", texts[1], "x2", texts[2], "y2", texts[3], NULL);
    dw_html_close(page->html, "line");
}

static void write_circle(DwPage *page, const DwPhotoMeasure *m)
{
    char texts[3][32];
    const double values[] = {m->x1, m->y1, m->value};
    for (size_t i = 0; i < 3; i++)
        dw_text_decimal(texts[i], sizeof texts[i], values[i], 2);
    dw_html_open(page->html, "circle", "cx", texts[0], "cy", texts[1], "r", texts[2], NULL);
    dw_html_close(page->html, "circle");
}

// The four sides between opposite corners.
static void write_frame(DwPage *page, const DwPhotoMeasure *m)
{
    write_line(page, m->x1, m->y1, m->x2, m->y1);
    write_line(page, m->x2, m->y1, m->x2, m->y2);
    write_line(page, m->x2, m->y2, m->x1, m->y2);
    write_line(page, m->x1, m->y2, m->x1, m->y1);
}

static void write_arrow(DwPage *page, const Board *board, const DwPhotoMeasure *m)
{
    double angle = atan2(m->y2 - m->y1, m->x2 - m->x1),
           length = fmin(fmax(board->width, board->height) / 32.0, m->value);
    write_line(page, m->x1, m->y1, m->x2, m->y2);
    for (int wing = -1; wing <= 1; wing += 2)
        write_line(page, m->x2 - length * cos(angle + wing * 0.45), m->y2 - length * sin(angle + wing * 0.45), m->x2,
                   m->y2);
}

static void write_lines(DwPage *page, const Board *board, const DwPhotoMeasure *m)
{
    if (m->kind == DW_PHOTO_CIRCLE)
        write_circle(page, m);
    else if (m->kind == DW_PHOTO_ARROW)
        write_arrow(page, board, m);
    else if (m->kind == DW_PHOTO_CROP || m->kind == DW_PHOTO_LIGHTEN)
        write_frame(page, m);
    if (dw_photo_is_mark(m->kind))
        return;
    bool is_rake = m->kind == DW_PHOTO_RAKE;
    write_line(page, m->x1, m->y1, m->x2, m->y2);
    write_line(page, is_rake ? m->x1 : m->x3, is_rake ? m->y1 : m->y3, is_rake ? m->x3 : m->x4,
               is_rake ? m->y3 : m->y4);
}

// All of WORDS stands on the picture, smaller where they are many.
static void write_label(DwPage *page, const Board *board, double x, double y, const char *words)
{
    char texts[3][32];
    Point place = shown(board, x, y);
    double letters = LETTER_WIDE * fmax(LABEL_LEAST, (double)dw_text_columns(words));
    double size = fmin(fmax(board->width, board->height) / 36.0, shown_width(board) / letters);
    dw_text_decimal(texts[0], sizeof texts[0], fmax(0, fmin(place.x + size / 3, shown_width(board) - letters * size)),
                    1);
    dw_text_decimal(texts[1], sizeof texts[1], fmax(place.y - size / 3, size), 1);
    dw_text_decimal(texts[2], sizeof texts[2], size, 1);
    dw_html_element(page->html, "text", words, "x", texts[0], "y", texts[1], "font-size", texts[2], NULL);
}

static char *number_and_unit(double value, double uncertainty, const char *unit)
{
    int digits = isfinite(uncertainty) && uncertainty > 0 ? (int)fmin(fmax(1 - floor(log10(uncertainty)), 0), 4)
                                                          : dw_number_digits(value);
    DwNumber number = dw_number_print(value, digits, false), doubt = dw_number_print(uncertainty, digits, false);
    return isfinite(uncertainty)
               ? dw_text_format("%s ± %s%s%s", number.text, doubt.text, dw_number_space(unit), dw_number_unit(unit))
               : dw_text_format("%s%s%s", number.text, dw_number_space(unit), dw_number_unit(unit));
}

// The marks are drawn in the pixels of the upright picture, which the group turns; words stand upright.
static void write_marks(DwPage *page, const Board *board, const Marks *marks, const DwPhotoScale *scale)
{
    DwHtml *html = page->html;
    char *turn = dw_photo_turn(board->width, board->height, board->turn);
    dw_html_open(html, "g", "class", "marks", "transform", turn, NULL);
    if (scale->record.id)
        write_line(page, scale->x1, scale->y1, scale->x2, scale->y2);
    for (size_t i = marks->first; i < marks->end; i++)
        write_lines(page, board, (const DwPhotoMeasure *)dw_records_at(&marks->all, i));
    dw_html_close(html, "g");
    for (size_t i = marks->first; i < marks->end; i++) {
        const DwPhotoMeasure *m = (const DwPhotoMeasure *)dw_records_at(&marks->all, i);
        char *number = dw_text_format("%zu", i + 1);
        write_label(page, board, m->x1, m->y1, m->kind == DW_PHOTO_WORDS ? m->name : number);
        free(number);
    }
    if (scale->record.id) {
        char *length = number_and_unit(scale->length_mm, NAN, "mm");
        write_label(page, board, scale->x1, scale->y1, length);
        free(length);
    }
    // Where the script puts the points that are being placed.
    dw_html_open(html, "g", "id", "placing", "transform", turn, NULL);
    dw_html_close(html, "g");
    free(turn);
}

static void write_picture(DwPage *page, const DwAttachment *photo, const Board *board, const Marks *marks,
                          const DwPhotoScale *scale)
{
    DwHtml *html = page->html;
    char *width = dw_text_format("%d", shown_width(board)), *height = dw_text_format("%d", shown_height(board));
    char *view = dw_text_format("0 0 %s %s", width, height), *path = dw_photo_path(photo, DW_PICTURES_WHOLE);
    // The script says here which point comes next.
    dw_html_element(html, "p", "", "id", "ask", "class", "lead", "role", "status", "data-done",
                    _("All points are placed. Arrow keys move the chosen one; Keep works it out."), NULL);
    dw_html_open(html, "div", "class", "board", NULL);
    dw_html_open(html, "svg", "id", "board", "viewBox", view, "role", "img", "aria-label",
                 _("The photograph with what is marked on it"), "tabindex", "0", NULL);
    dw_html_open(html, "image", "href", path, "width", width, "height", height, NULL);
    dw_html_close(html, "image");
    write_marks(page, board, marks, scale);
    dw_html_close(html, "svg");
    dw_html_open(html, "svg", "id", "loupe", "class", "loupe", "aria-hidden", "true", "hidden", DW_HTML_BARE, NULL);
    dw_html_close(html, "svg");
    dw_html_close(html, "div");
    free(width);
    free(height);
    free(view);
    free(path);
}

// A rake goes on to the arm's height: the procedure that says what spacer it takes.
static void write_rake_link(DwPage *page, const DwAttachment *photo, const DwPhotoMeasure *m)
{
    DwJob job;
    dw_record_init(&job.record, &dw_job_entity);
    char value[32], error[32];
    dw_text_decimal(value, sizeof value, m->value, 2);
    // A camera held by eye adds a degree (common practice, as at rake.camera_error).
    dw_text_decimal(error, sizeof error, hypot(1, isfinite(m->uncertainty) ? m->uncertainty : 0), 2);
    bool of_job = photo->job_id && dw_record_load(page->request->book, &job.record, photo->job_id, NULL) == DW_OK;
    char *number = of_job ? dw_text_format("&job=%04lld", (long long)job.number) : dw_memory_text("");
    char *path = dw_text_format("/measure/rake?rake.measured=%sdeg&rake.camera_error=%sdeg%s", value, error, number);
    dw_html_text(page->html, " ");
    dw_html_element(page->html, "a", _("What arm height does it want?"), "href", path, NULL);
    free(path);
    free(number);
    dw_record_clear(&job.record);
}

static void write_remove(DwPage *page, const DwAttachment *photo, int64_t id, size_t number)
{
    char *path = dw_text_format("/photo/%lld/measure/%lld/remove", (long long)photo->record.id, (long long)id);
    char *words = dw_text_format(_("Take out measurement %zu"), number);
    dw_form_begin(page, path, false);
    dw_html_element(page->html, "button", "×", "type", "submit", "class", "second", "aria-label", words, NULL);
    dw_form_end(page);
    free(path);
    free(words);
}

static void write_row(DwPage *page, const DwAttachment *photo, const DwPhotoMeasure *m, size_t number)
{
    DwHtml *html = page->html;
    char *value = dw_photo_is_mark(m->kind) ? dw_memory_text("") : number_and_unit(m->value, m->uncertainty, m->unit);
    bool named = m->name && *m->name;
    dw_html_open(html, "tr", NULL);
    dw_html_open(html, "td", NULL);
    dw_html_format(html, "%zu", number);
    dw_html_close(html, "td");
    dw_html_open(html, "td", NULL);
    dw_html_text(html, named ? m->name : dw_words(kinds[m->kind].words));
    if (m->kind == DW_PHOTO_RAKE)
        write_rake_link(page, photo, m);
    dw_html_close(html, "td");
    dw_html_element(html, "td", value, "class", "number", NULL);
    dw_html_element(html, "td", m->remark ? m->remark : "", NULL);
    dw_html_open(html, "td", NULL);
    write_remove(page, photo, m->record.id, number);
    dw_html_close(html, "td");
    dw_html_close(html, "tr");
    free(value);
}

// One line on the marks that are not shown now, which leads to them.
static void write_others(DwPage *page, const DwAttachment *photo, const Marks *marks)
{
    size_t others = marks->all.count - (marks->end - marks->first);
    if (others == 0)
        return;
    size_t next = marks->end < marks->all.count ? marks->end : 0;
    char *path = dw_text_format("/photo/%lld?from=%zu#measure", (long long)photo->record.id, next + 1);
    dw_html_open(page->html, "p", "id", "more-marks", NULL);
    dw_html_format(page->html,
                   dw_words_count("Shown are marks %zu to %zu; %zu more stands on it.",
                                  "Shown are marks %zu to %zu; %zu more stand on it.", others),
                   marks->first + 1, marks->end, others);
    dw_html_text(page->html, " ");
    dw_html_element(page->html, "a", _("Show others"), "href", path, NULL);
    dw_html_close(page->html, "p");
    free(path);
}

static void write_table(DwPage *page, const DwAttachment *photo, const Marks *marks)
{
    static const char *const heads[] = {N_("No."), N_("What"), N_("Value, 95 %"), N_("Remark"), N_("Take out")};
    DwHtml *html = page->html;
    if (marks->all.count == 0)
        return;
    write_others(page, photo, marks);
    dw_html_open(html, "div", "class", "scroll", "tabindex", "0", "role", "region", "aria-label",
                 _("What was measured"), NULL);
    dw_html_open(html, "table", NULL);
    dw_html_open(html, "thead", NULL);
    dw_html_open(html, "tr", NULL);
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++)
        dw_html_element(html, "th", dw_words(heads[i]), "scope", "col", "class", i == 2 ? "number" : DW_HTML_NONE,
                        NULL);
    dw_html_close(html, "tr");
    dw_html_close(html, "thead");
    dw_html_open(html, "tbody", NULL);
    for (size_t i = marks->first; i < marks->end; i++)
        write_row(page, photo, (const DwPhotoMeasure *)dw_records_at(&marks->all, i), i + 1);
    dw_html_close(html, "tbody");
    dw_html_close(html, "table");
    dw_html_close(html, "div");
    dw_html_element(html, "small",
                    _("± is what placing the points leaves open, in 95 of 100 cases. Not in it: an error of the known "
                      "length, a camera that was not square to what it saw, the lens."),
                    NULL);
}

static void write_scale(DwPage *page, const DwPhotoScale *scale, double mm_per_pixel)
{
    DwHtml *html = page->html;
    if (isnan(mm_per_pixel)) {
        dw_html_element(html, "p",
                        _("There is no scale yet. Angles need none; for lengths mark two points that are a known "
                          "distance apart first, far from each other and in the plane of what is measured."),
                        NULL);
        return;
    }
    DwNumber each = dw_number_print(mm_per_pixel * 1000, dw_number_digits(mm_per_pixel * 1000), false);
    dw_html_open(html, "p", NULL);
    dw_html_format(html, _("Scale: %s\u202fµm a pixel"), each.text);
    if (scale->record.id) {
        DwNumber length = dw_number_print(scale->length_mm, -1, false);
        dw_html_format(html, _(", from %s\u202fmm over %.0f pixels"), length.text,
                       hypot(scale->x2 - scale->x1, scale->y2 - scale->y1));
        if (scale->reference && *scale->reference)
            dw_html_format(html, " (%s)", scale->reference);
    }
    dw_html_text(html, ".");
    dw_html_close(html, "p");
}

static void write_kinds(DwPage *page, bool has_scale)
{
    DwHtml *html = page->html;
    dw_html_open(html, "fieldset", "class", "kinds", NULL);
    dw_html_element(html, "legend", _("What to mark"), NULL);
    for (size_t i = 0; i < KINDS; i++) {
        bool first = strcmp(kinds[i].name, has_scale ? "length" : "scale") == 0;
        dw_html_open(html, "label", "class", "tick", NULL);
        dw_html_void(html, "input", "type", "radio", "name", "kind", "value", kinds[i].name, "data-points",
                     dw_words(kinds[i].points), "checked", DW_HTML_IF(first), NULL);
        dw_html_element(html, "span", dw_words(kinds[i].words), NULL);
        dw_html_close(html, "label");
    }
    dw_html_close(html, "fieldset");
}

static void write_points(DwPage *page)
{
    DwHtml *html = page->html;
    dw_html_open(html, "details", "id", "points", NULL);
    dw_html_element(html, "summary", _("The points as numbers"), NULL);
    dw_html_element(html, "small",
                    _("Pixels of the upright picture before it is turned, to the right and down from its upper left "
                      "corner. A rake has three points, an angle four, all else two."),
                    NULL);
    dw_html_open(html, "div", "class", "fields", NULL);
    for (int i = 1; i <= POINTS_MOST; i++)
        for (int axis = 0; axis < 2; axis++) {
            char name[8];
            char *label = dw_text_format(axis ? _("Point %d, down") : _("Point %d, across"), i);
            snprintf(name, sizeof name, "%c%d", axis ? 'y' : 'x', i);
            dw_form_text(page, name, label, "", "text", NULL);
            free(label);
        }
    dw_html_close(html, "div");
    dw_html_close(html, "details");
}

static void write_form(DwPage *page, const DwAttachment *photo, bool has_scale)
{
    DwHtml *html = page->html;
    char *path = dw_text_format("/photo/%lld/measure", (long long)photo->record.id);
    dw_html_open(html, "div", "id", "marking", NULL);
    dw_form_begin(page, path, false);
    write_kinds(page, has_scale);
    write_points(page);
    dw_html_open(html, "div", "class", "fields", NULL);
    dw_form_text(page, "length_mm", _("Known length, in mm (for a scale)"), "", "text",
                 _("A rule, a graticule, a headshell's width by caliper."));
    dw_form_text(page, "name", _("What it is"), "", "text", _("Words on the picture are typed here."));
    dw_form_text(page, "remark", _("Remark"), "", "text", NULL);
    dw_form_text(page, "error", _("Each point is right to within ± pixels"), "1", "text",
                 _("More for an edge that is blurred."));
    dw_html_close(html, "div");
    dw_form_button(page, _("Keep"));
    dw_form_end(page);
    dw_html_close(html, "div");
    free(path);
}

// Chooses what is shown: from the mark that the address names, else from the first.
static void choose_shown(const DwWebRequest *request, Marks *marks)
{
    int64_t from = strtoll(dw_request_query(request, "from"), NULL, 10);
    size_t count = marks->all.count;
    marks->first = from > 0 && (uint64_t)from <= count ? (size_t)from - 1 : 0;
    marks->end = count - marks->first > MARKS_MOST ? marks->first + MARKS_MOST : count;
}

static DwStatus read_all(const DwWebRequest *request, int64_t id, Marks *marks, DwPhotoScale *scale,
                         double *mm_per_pixel, DwMessage *message)
{
    DwStatus status =
        dw_record_list(request->book, &dw_photo_measure_entity, "attachment_id", id, &marks->all, message);
    choose_shown(request, marks);
    if (status == DW_OK)
        status = dw_photo_scale_last(request->book, id, scale, message);
    if (status == DW_OK)
        status = dw_photo_scale_of(request->book, id, mm_per_pixel, message);
    return status;
}

void dw_photo_measure_write(DwPage *page, const DwAttachment *photo, int width, int height)
{
    Marks marks = {.all = {.entity = &dw_photo_measure_entity}};
    DwPhotoScale scale;
    DwMessage message;
    double mm_per_pixel = NAN;
    Board board = {width, height, (int)photo->turn};
    dw_record_init(&scale.record, &dw_photo_scale_entity);
    dw_html_open(page->html, "section", "id", "measure", "aria-labelledby", "measure-title", NULL);
    DwStatus status = read_all(page->request, photo->record.id, &marks, &scale, &mm_per_pixel, &message);
    if (status == DW_OK)
        write_picture(page, photo, &board, &marks, &scale);
    dw_html_element(page->html, "h2", _("Measure and mark on it"), "id", "measure-title", NULL);
    if (status == DW_OK) {
        write_table(page, photo, &marks);
        write_scale(page, &scale, mm_per_pixel);
        write_form(page, photo, isfinite(mm_per_pixel));
    } else
        dw_page_remark(page, dw_message_said(&message));
    dw_html_close(page->html, "section");
    dw_records_clear(&marks.all);
    dw_record_clear(&scale.record);
}
