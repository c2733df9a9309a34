// SPDX-License-Identifier: MIT
#include "chart/sheet/sheet_picture.h"

#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/band_strip.h"
#include "chart/sheet/arm_view.h"
#include "chart/sheet/describe.h"
#include "chart/draw/output.h"
#include "chart/draw/svg_words.h"

#include <assert.h>
#include <cairo-svg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double em = 16; // as the page's own text

static bool is_picture(const DwBlock *block)
{
    return block->kind == DW_BLOCK_STRIP || block->kind == DW_BLOCK_ARM || block->kind == DW_BLOCK_RASTER ||
           block->kind == DW_BLOCK_PLOT;
}

// The block of picture INDEX.
static size_t find_block(const DwSheetPage *page, size_t index)
{
    for (size_t i = 0; i < page->block_count; i++)
        if (is_picture(&page->blocks[i]) && index-- == 0)
            return i;
    assert(!"no such picture");
    return 0;
}

size_t dw_sheet_picture_count(const DwSheetPage *page)
{
    size_t count = 0;
    for (size_t i = 0; i < page->block_count; i++)
        count += is_picture(&page->blocks[i]);
    return count;
}

static char *title_of(const DwSheetPage *page, const DwBlock *block)
{
    const char *title = block->kind == DW_BLOCK_PLOT    ? page->plots[block->index].title
                        : block->kind == DW_BLOCK_STRIP ? page->sheet->tables[block->index].label
                        : block->kind == DW_BLOCK_ARM   ? dw_arm_view_title(page->sheet)
                                                        : page->sheet->rasters[block->index].label;
    return dw_text_format("%s", dw_said_label(title));
}

char *dw_sheet_picture_words(const DwSheetPage *page, size_t index)
{
    const DwBlock *block = &page->blocks[find_block(page, index)];
    if (block->kind == DW_BLOCK_PLOT)
        return dw_text_format("%s", page->plots[block->index].caption);
    if (block->kind == DW_BLOCK_ARM)
        return dw_arm_view_words(page->sheet);
    if (block->kind == DW_BLOCK_STRIP)
        return dw_band_strip_words(&page->sheet->tables[block->index]);
    const DwRaster *raster = &page->sheet->rasters[block->index];
    char *sentence = dw_describe_raster(block->of_before ? dw_sheet_raster(page->before, raster->key) : raster);
    char *words = block->of_before ? dw_say("As received: %s", sentence) : dw_text_format("%s", sentence);
    free(sentence);
    return words;
}

// The height of block INDEX on a canvas of its own, that the drawing then has.
static double height_of(DwSheetPage *page, size_t index, double width, DwTheme theme)
{
    cairo_surface_t *nowhere = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
    DwCanvas canvas = {.cairo = cairo_create(nowhere), .theme = theme, .em = em};
    dw_sheet_page_measure(page, &canvas, width);
    cairo_destroy(canvas.cairo);
    cairo_surface_destroy(nowhere);
    return ceil(page->blocks[index].wish);
}

static cairo_status_t draw(DwSheetPage *page, size_t index, double width, DwTheme theme, DwOutput *output)
{
    double height = height_of(page, index, width, theme);
    cairo_surface_t *surface = cairo_svg_surface_create_for_stream(dw_output_keep, output, width, height);
    cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_PX);
    DwCanvas canvas = {.cairo = cairo_create(surface), .theme = theme, .em = em};
    dw_canvas_use(&canvas, DW_INK_GROUND);
    cairo_paint(canvas.cairo);
    dw_sheet_page_draw_block(page, index, &canvas, (DwBox){0, 0, width, height});
    cairo_destroy(canvas.cairo);
    cairo_surface_finish(surface);
    cairo_status_t status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    return status;
}

DwStatus dw_sheet_picture_render(DwSheetPage *page, size_t index, double width, DwTheme theme, char **bytes,
                                 size_t *length, DwMessage *message)
{
    size_t block = find_block(page, index);
    DwOutput output = {0};
    cairo_status_t drawn = draw(page, block, width, theme, &output);
    if (drawn == CAIRO_STATUS_SUCCESS) {
        char *title = title_of(page, &page->blocks[block]), *words = dw_sheet_picture_words(page, index);
        *bytes = dw_svg_words_insert(output.bytes, title, words);
        *length = strlen(*bytes);
        free(title);
        free(words);
    }
    free(output.bytes);
    return drawn == CAIRO_STATUS_SUCCESS
               ? DW_OK
               : dw_fail(message, DW_FAILED, "The picture could not be drawn: %s.", cairo_status_to_string(drawn));
}
