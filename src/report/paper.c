// SPDX-License-Identifier: MIT
#include "report/paper.h"

#include "base/text.h"
#include "chart/draw/whole_file.h"
#include "report/paper_words.h"
#include "report/structure.h"

#include <cairo-pdf.h>
#include <glib.h>
#include <math.h>
#include <stdlib.h>

static const double body_size = 10.5;    // points
static const double smallest_size = 9.5; // where it saves a page that would hold next to nothing
static const double little = 1.0 / 3;    // of a page's room: a last page with less on it looks forgotten
static const double foot_room = 1.9;     // em, below the flow and above the margin
static const DwLetters foot_letters = {.size = 0.8, .ink = DW_INK_QUIET};

static void begin_output(DwPaper *paper)
{
    paper->output = (DwOutput){0};
    paper->surface = cairo_pdf_surface_create_for_stream(dw_output_keep, &paper->output, paper->width, paper->height);
    // This version has a plain cross-reference table, which the language is added to.
    cairo_pdf_surface_restrict_to_version(paper->surface, CAIRO_PDF_VERSION_1_4);
    paper->canvas.cairo = cairo_create(paper->surface);
}

static void end_output(DwPaper *paper)
{
    cairo_destroy(paper->canvas.cairo);
    cairo_surface_destroy(paper->surface);
    free(paper->output.bytes);
    free(paper->alts);
    paper->alts = NULL;
    paper->alt_count = 0;
}

void dw_paper_size(DwPaperSize size, double *width, double *height)
{
    *width = size == DW_PAPER_A4 ? 595.276 : 612;
    *height = size == DW_PAPER_A4 ? 841.890 : 792;
}

static void begin(DwPaper *paper, double foot)
{
    paper->canvas = (DwCanvas){.theme = DW_THEME_PAPER, .em = body_size};
    begin_output(paper);
    paper->flow = (DwFlow){.canvas = &paper->canvas,
                           .width = paper->width - 2 * paper->margin_x,
                           .room = paper->height - 2 * paper->margin_y - foot};
}

void dw_paper_begin(DwPaper *paper, DwPaperSize size)
{
    *paper = (DwPaper){.margin_x = DW_PAPER_MARGIN, .margin_y = DW_PAPER_MARGIN};
    dw_paper_size(size, &paper->width, &paper->height);
    begin(paper, foot_room * body_size);
}

void dw_paper_begin_labels(DwPaper *paper, double width, double height, double margin_x, double margin_y)
{
    *paper =
        (DwPaper){.width = width, .height = height, .margin_x = margin_x, .margin_y = margin_y, .without_foot = true};
    begin(paper, 0);
}

static void describe(DwPaper *paper, const DwPaperFrame *frame)
{
    const struct {
        cairo_pdf_metadata_t kind;
        const char *text;
    } lines[] = {{CAIRO_PDF_METADATA_TITLE, frame->title},
                 {CAIRO_PDF_METADATA_AUTHOR, frame->author},
                 {CAIRO_PDF_METADATA_CREATOR, "Deckwright " DW_VERSION}};
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        char *valid = g_utf8_make_valid(lines[i].text, -1);
        cairo_pdf_surface_set_metadata(paper->surface, lines[i].kind, valid);
        g_free(valid);
    }
}

static void draw_foot(const DwPaper *paper, const DwPaperFrame *frame, size_t page, size_t pages)
{
    double y = paper->height - DW_PAPER_MARGIN;
    char *number = dw_text_format("%zu", page + 1), *count = dw_text_format("%zu", pages);
    char *numbered = dw_text_replace(frame->pages, "page", number);
    char *whole = dw_text_replace(numbered, "pages", count);
    dw_canvas_write_within(&paper->canvas, foot_letters, DW_PAPER_MARGIN, y, 0.7 * paper->flow.width, frame->foot);
    dw_canvas_write(&paper->canvas, foot_letters, paper->width - DW_PAPER_MARGIN, y, 1, whole);
    free(number);
    free(count);
    free(numbered);
    free(whole);
}

// How many pages the flow takes, and how low the last of them reaches.
static size_t count_pages(const DwPaper *paper, double *bottom)
{
    DwPlacement *placements;
    size_t pages, count = dw_flow_place(&paper->flow, &placements, &pages);
    *bottom = 0;
    for (size_t i = 0; i < count; i++)
        if (placements[i].page + 1 == pages)
            *bottom = fmax(*bottom, placements[i].box.y + placements[i].box.height);
    free(placements);
    return pages;
}

// A last page that would hold next to nothing is saved by slightly smaller letters, where they can save it.
static void save_last_page(DwPaper *paper)
{
    double bottom, ignored;
    size_t pages = count_pages(paper, &bottom);
    if (paper->without_foot || pages < 2 || bottom > paper->flow.room * little)
        return;
    for (double size = body_size - 0.1; size > smallest_size - 0.01; size -= 0.1) {
        paper->canvas.em = size;
        if (count_pages(paper, &ignored) < pages)
            return;
    }
    paper->canvas.em = body_size;
}

static void turn_pages_of_many(DwPaper *paper)
{
    double ignored;
    size_t pages = count_pages(paper, &ignored);
    for (size_t i = 0; i < paper->flow.count && pages > 1; i++) {
        DwPiece *piece = &paper->flow.pieces[i];
        if (!piece->new_page_if_many)
            continue;
        piece->new_page = true;
        piece->new_page = count_pages(paper, &ignored) == pages;
    }
}

// The piece with which the last page begins.
static size_t first_of_last(const DwPaper *paper)
{
    DwPlacement *placements;
    size_t pages, count = dw_flow_place(&paper->flow, &placements, &pages), first = count;
    while (first > 0 && placements[first - 1].page + 1 == pages)
        first--;
    size_t piece = first < count ? placements[first].piece : paper->flow.count;
    free(placements);
    return piece;
}

// How low the page before the last reaches.
static double bottom_before_last(const DwPaper *paper)
{
    double bottom = 0;
    DwPlacement *placements;
    size_t pages, count = dw_flow_place(&paper->flow, &placements, &pages);
    for (size_t i = 0; i < count; i++)
        if (placements[i].page + 2 == pages)
            bottom = fmax(bottom, placements[i].box.y + placements[i].box.height);
    free(placements);
    return bottom;
}

// A last page that cannot be saved takes the sections before it, so far as the page that they leave stays half full.
static void fill_last_page(DwPaper *paper)
{
    double bottom;
    size_t pages = count_pages(paper, &bottom), first = first_of_last(paper);
    if (paper->without_foot || pages < 2)
        return;
    DwPiece *begun = paper->flow.pieces[first].new_page ? &paper->flow.pieces[first] : NULL;
    for (size_t i = first; i > 1 && bottom < paper->flow.room * little; i--) {
        DwPiece *piece = &paper->flow.pieces[i - 1];
        if (piece->new_page)
            return;
        if (!piece->begins || paper->flow.pieces[i - 2].with_next)
            continue;
        piece->new_page = true;
        if (begun)
            begun->new_page = false;
        if (count_pages(paper, &bottom) != pages || bottom_before_last(paper) < paper->flow.room / 2) {
            piece->new_page = false;
            if (begun)
                begun->new_page = true;
            return;
        }
        begun = piece;
    }
}

static void draw_pages(DwPaper *paper, const DwPaperFrame *frame)
{
    DwPlacement *placements;
    save_last_page(paper);
    turn_pages_of_many(paper);
    fill_last_page(paper);
    DwStructure structure = {.cairo = paper->canvas.untagged ? NULL : paper->canvas.cairo};
    size_t pages, count = dw_flow_place(&paper->flow, &placements, &pages), next = 0;
    for (size_t page = 0; page < pages; page++) {
        for (; next < count && placements[next].page == page; next++) {
            const DwPiece *piece = &paper->flow.pieces[placements[next].piece];
            DwBox box = placements[next].box;
            box.x += paper->margin_x;
            box.y += paper->margin_y;
            if (piece->kind->draw_pictures) {
                dw_structure_pause(&structure);
                piece->kind->draw_pictures(piece->content, &paper->canvas, box);
            }
            dw_structure_begin_piece(&structure, &paper->flow, placements[next].piece);
            piece->kind->draw(piece->content, &paper->canvas, box);
        }
        dw_structure_end_page(&structure);
        if (!paper->without_foot)
            draw_foot(paper, frame, page, pages);
        cairo_show_page(paper->canvas.cairo);
    }
    free(placements);
    paper->alts = structure.alts;
    paper->alt_count = structure.alt_count;
}

// Draws it all. Returned: what cairo says of it.
static cairo_status_t draw_whole(DwPaper *paper, const DwPaperFrame *frame)
{
    describe(paper, frame);
    draw_pages(paper, frame);
    cairo_status_t drawn = cairo_status(paper->canvas.cairo);
    cairo_surface_finish(paper->surface);
    return drawn == CAIRO_STATUS_SUCCESS ? cairo_surface_status(paper->surface) : drawn;
}

DwStatus dw_paper_write(DwPaper *paper, const DwPaperFrame *frame, const char *path, DwMessage *message)
{
    cairo_status_t drawn = draw_whole(paper, frame);
    // A sign that is an image of its own, as some fonts have them, cannot be marked: the paper goes out unmarked.
    if (drawn == CAIRO_STATUS_TAG_ERROR) {
        end_output(paper);
        paper->canvas.untagged = true;
        begin_output(paper);
        drawn = draw_whole(paper, frame);
    }
    if (drawn != CAIRO_STATUS_SUCCESS)
        return dw_fail(message, DW_FAILED, "“%s” cannot be drawn: %s.", frame->title, cairo_status_to_string(drawn));
    dw_pdf_describe(&paper->output,
                    &(DwPdfWords){frame->title, frame->author, frame->language, paper->alts, paper->alt_count});
    dw_pdf_language_set(&paper->output, frame->language);
    if (frame->file)
        dw_pdf_attach(&paper->output, frame->file);
    return dw_whole_file_write_private(path, paper->output.bytes, paper->output.length, message);
}

void dw_paper_clear(DwPaper *paper)
{
    dw_flow_clear(&paper->flow);
    end_output(paper);
    *paper = (DwPaper){0};
}
