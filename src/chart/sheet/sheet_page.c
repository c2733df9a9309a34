// SPDX-License-Identifier: MIT
#include "chart/sheet/sheet_page.h"

#include "base/memory.h"
#include "base/plan/side_measured.h"
#include "base/text.h"
#include "base/tongue.h"
#include "chart/draw/band_strip.h"
#include "chart/draw/raster.h"
#include "chart/sheet/arm_view.h"
#include "chart/sheet/reading_cell.h"
#include "chart/sheet/sheet_plots.h"
#include "chart/sheet/sheet_words.h"
#include "chart/sheet/side_overview.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const DwLetters heading = {.size = 1.15, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters caption_letters = {.size = 0.9, .ink = DW_INK_QUIET};

// Space below each block, and between the two columns of large readings, in em.
static const double cells_gap = 1.5, column_gap = 2.6, picture_gap = 1.0, title_line = 1.9;

static void add_block(DwSheetPage *page, DwBlockKind kind, size_t index)
{
    page->blocks = dw_memory_resize(page->blocks, page->block_count + 1, sizeof *page->blocks);
    page->blocks[page->block_count++] = (DwBlock){.kind = kind, .index = index};
}

static bool is_large(const DwSheetPage *page, size_t reading)
{
    for (size_t i = 0; i < page->large_count; i++)
        if (page->large[i] == reading)
            return true;
    return false;
}

// Which readings are drawn large: first those with a verdict, then those that the
// procedure is named after, then the others.
static int rank_of(const DwSheet *sheet, const DwReading *reading)
{
    if (reading->verdict != DW_VERDICT_NONE)
        return 0;
    size_t section = strcspn(reading->key, ".");
    return section == strlen(sheet->procedure) && strncmp(reading->key, sheet->procedure, section) == 0 ? 1 : 2;
}

static void choose_large(DwSheetPage *page)
{
    const DwSheet *sheet = page->sheet;
    for (int rank = 0; rank < 3; rank++)
        for (size_t i = 0; i < sheet->reading_count && page->large_count < DW_SHEET_PAGE_LARGE_MOST; i++)
            if (rank_of(sheet, &sheet->readings[i]) == rank)
                page->large[page->large_count++] = i;
}

// The readings that are not drawn large: all of a sheet, or of a side's those of WORD (NULL: those of none).
static void add_list(DwSheetPage *page, size_t number, const char *word)
{
    bool parted = dw_side_overview_fits(page->sheet), headed = false;
    for (size_t i = 0; i < page->sheet->reading_count; i++) {
        const char *own = parted ? dw_side_measured_word(page->sheet->readings[i].key) : NULL;
        if (is_large(page, i) || (own != word && !(own && word && strcmp(own, word) == 0)))
            continue;
        if (!headed)
            add_block(page, DW_BLOCK_LIST_HEAD, number);
        headed = true;
        add_block(page, DW_BLOCK_LIST_LINE, i);
    }
}

static void add_readings(DwSheetPage *page)
{
    for (size_t i = 0; i < page->large_count; i += 2)
        add_block(page, DW_BLOCK_CELLS, i);
    if (page->sheet->reading_count == page->large_count)
        return;
    add_list(page, 0, NULL);
    for (size_t i = 0; dw_side_measured_at(i) && dw_side_overview_fits(page->sheet); i++)
        add_list(page, i + 1, dw_side_measured_at(i));
}

static void add_strips(DwSheetPage *page)
{
    for (size_t i = 0; i < page->sheet->table_count; i++)
        if (dw_band_strip_fits(&page->sheet->tables[i]))
            add_block(page, DW_BLOCK_STRIP, i);
}

static void add_rasters(DwSheetPage *page)
{
    for (size_t i = 0; i < page->sheet->raster_count; i++) {
        const DwRaster *raster = &page->sheet->rasters[i];
        if (raster->rows == 0 || raster->columns == 0)
            continue;
        const DwRaster *earlier = page->before ? dw_sheet_raster(page->before, raster->key) : NULL;
        if (earlier && earlier->rows > 0 && earlier->columns > 0) {
            add_block(page, DW_BLOCK_RASTER, i);
            page->blocks[page->block_count - 1].of_before = true;
        }
        add_block(page, DW_BLOCK_RASTER, i);
    }
}

static void add_cautions(DwSheetPage *page)
{
    for (size_t i = 0; i < page->sheet->caution_count; i++)
        add_block(page, DW_BLOCK_CAUTION, i);
}

static void add_words(DwSheetPage *page)
{
    const DwSheet *sheet = page->sheet;
    if (sheet->remark_count > 0)
        add_block(page, DW_BLOCK_REMARKS_HEAD, 0);
    for (size_t i = 0; i < sheet->remark_count; i++)
        add_block(page, DW_BLOCK_REMARK, i);
    if (sheet->not_measured_count > 0)
        add_block(page, DW_BLOCK_MISSING_HEAD, 0);
    for (size_t i = 0; i < sheet->not_measured_count; i++)
        add_block(page, DW_BLOCK_MISSING, i);
}

static DwSheetPage *start(const DwSheet *sheet, const DwSheet *before)
{
    DwSheetPage *page = dw_memory_new(1, sizeof *page);
    page->sheet = sheet;
    page->before = before;
    page->plots = dw_sheet_plots_new(sheet, before, &page->plot_count);
    choose_large(page);
    add_block(page, DW_BLOCK_HEAD, 0);
    add_strips(page);
    return page;
}

static void add_overview(DwSheetPage *page)
{
    add_block(page, DW_BLOCK_TILES, 0);
    add_cautions(page);
    page->blocks[page->block_count - 1].ends_page = true;
}

DwSheetPage *dw_sheet_page_new_at_once(const DwSheet *sheet, const DwSheet *before)
{
    if (!dw_side_overview_fits(sheet))
        return dw_sheet_page_new(sheet, before);
    DwSheetPage *page = start(sheet, before);
    add_overview(page);
    return page;
}

DwSheetPage *dw_sheet_page_new(const DwSheet *sheet, const DwSheet *before)
{
    DwSheetPage *page = start(sheet, before);
    bool overview = dw_side_overview_fits(sheet);
    if (overview)
        add_overview(page);
    if (dw_arm_view_fits(sheet))
        add_block(page, DW_BLOCK_ARM, 0);
    add_readings(page);
    add_rasters(page);
    for (size_t i = 0; i < page->plot_count; i++)
        add_block(page, DW_BLOCK_PLOT, i);
    if (!overview)
        add_cautions(page);
    add_words(page);
    return page;
}

void dw_sheet_page_free(DwSheetPage *page)
{
    if (!page)
        return;
    dw_sheet_plots_free(page->plots, page->plot_count);
    free(page->blocks);
    free(page);
}

static const DwReading *reading_before(const DwSheetPage *page, const DwReading *reading)
{
    return page->before ? dw_sheet_reading(page->before, reading->key) : NULL;
}

static double cell_width(const DwCanvas *canvas, double width)
{
    return (width - column_gap * canvas->em) / 2;
}

static double cells_height(const DwSheetPage *page, const DwCanvas *canvas, size_t first, double width)
{
    double height = 0;
    for (size_t i = first; i < first + 2 && i < page->large_count; i++) {
        const DwReading *reading = &page->sheet->readings[page->large[i]];
        height = fmax(
            height, dw_reading_cell_height(canvas, reading, reading_before(page, reading), cell_width(canvas, width)));
    }
    return height + cells_gap * canvas->em;
}

static void draw_cells(const DwSheetPage *page, const DwCanvas *canvas, size_t first, DwBox box)
{
    double width = cell_width(canvas, box.width);
    for (size_t i = first; i < first + 2 && i < page->large_count; i++) {
        const DwReading *reading = &page->sheet->readings[page->large[i]];
        double x = box.x + (double)(i - first) * (width + column_gap * canvas->em);
        dw_reading_cell_draw(canvas, reading, reading_before(page, reading), x, box.y, width);
    }
}

static const DwRaster *raster_of(const DwSheetPage *page, const DwBlock *block)
{
    const DwRaster *raster = &page->sheet->rasters[block->index];
    return block->of_before ? dw_sheet_raster(page->before, raster->key) : raster;
}

// Title and caption above a picture. Returned: their height.
static double draw_captions(const DwCanvas *canvas, const char *title, const char *caption, DwBox box)
{
    dw_canvas_write_within(canvas, heading, box.x, box.y + title_line * canvas->em, box.width, title);
    double top = (title_line + 0.5) * canvas->em;
    return top + dw_canvas_paragraph(canvas, caption_letters, box.x, box.y + top, box.width, caption) +
           0.6 * canvas->em;
}

static double captions_height(const DwCanvas *canvas, const char *caption, double width)
{
    return (title_line + 1.1) * canvas->em + dw_canvas_paragraph_height(canvas, caption_letters, width, caption);
}

// Before and after are painted with one scale: the larger of both.
static double raster_end(const DwSheetPage *page, const DwBlock *block)
{
    const DwRaster *raster = &page->sheet->rasters[block->index];
    const DwRaster *earlier = page->before ? dw_sheet_raster(page->before, raster->key) : NULL;
    double end = dw_raster_scale_end(raster);
    return earlier ? fmax(end, dw_raster_scale_end(earlier)) : end;
}

static void draw_raster(const DwSheetPage *page, const DwCanvas *canvas, const DwBlock *block, DwBox box)
{
    const DwRaster *raster = raster_of(page, block);
    char *title = dw_sheet_words_raster_title(NULL, raster, page->before != NULL, block->of_before);
    char *caption = dw_sheet_words_raster_caption(NULL, raster, raster_end(page, block));
    double top = draw_captions(canvas, title, caption, box);
    free(title);
    free(caption);
    dw_raster_draw(canvas, raster, raster_end(page, block),
                   (DwBox){box.x, box.y + top, box.width, box.height - top - picture_gap * canvas->em});
}

static void draw_strip(const DwSheetPage *page, const DwCanvas *canvas, const DwBlock *block, DwBox box)
{
    const DwTable *table = &page->sheet->tables[block->index];
    char *words = dw_band_strip_words(table);
    double top = draw_captions(canvas, table->label, words, box);
    free(words);
    DwVerdict *verdicts = dw_memory_new(table->row_count + 1, sizeof *verdicts);
    bool overview = dw_side_overview_fits(page->sheet);
    for (size_t row = 0; row < table->row_count && overview; row++)
        verdicts[row] = dw_side_overview_verdict(page->sheet, table, row);
    dw_band_strip_draw(canvas, table, verdicts, (DwBox){box.x, box.y + top, box.width, box.height - top});
    free(verdicts);
}

static double strip_height(const DwSheetPage *page, const DwCanvas *canvas, const DwBlock *block, double width)
{
    char *words = dw_band_strip_words(&page->sheet->tables[block->index]);
    double height = captions_height(canvas, words, width) + dw_band_strip_height(canvas) + picture_gap * canvas->em;
    free(words);
    return height;
}

static void draw_plot(const DwSheetPage *page, const DwCanvas *canvas, const DwBlock *block, DwBox box)
{
    const DwPlot *plot = &page->plots[block->index];
    double top = draw_captions(canvas, plot->title, plot->caption, box);
    dw_plot_draw(canvas, plot, (DwBox){box.x, box.y + top, box.width, box.height - top - picture_gap * canvas->em});
}

static void draw_arm(const DwSheetPage *page, const DwCanvas *canvas, DwBox box)
{
    char *words = dw_arm_view_words(page->sheet);
    double top = draw_captions(canvas, dw_arm_view_title(page->sheet), words, box);
    free(words);
    dw_arm_view_draw(canvas, page->sheet,
                     (DwBox){box.x, box.y + top, box.width, box.height - top - picture_gap * canvas->em});
}

static void measure_arm(const DwSheetPage *page, const DwCanvas *canvas, DwBlock *block, double width)
{
    char *words = dw_arm_view_words(page->sheet);
    double captions = captions_height(canvas, words, width) + picture_gap * canvas->em;
    free(words);
    // Squeezed, its words would run into each other.
    block->least = block->wish = captions + dw_arm_view_height(page->sheet, width, canvas->em);
}

static void measure_raster(const DwSheetPage *page, const DwCanvas *canvas, DwBlock *block, double width)
{
    const DwRaster *raster = raster_of(page, block);
    char *caption = dw_sheet_words_raster_caption(NULL, raster, raster_end(page, block));
    double words = captions_height(canvas, caption, width) + picture_gap * canvas->em;
    free(caption);
    block->wish = words + dw_raster_height(canvas, raster);
    block->least = words + 13 * canvas->em;
}

static void measure_plot(const DwSheetPage *page, const DwCanvas *canvas, DwBlock *block, double width)
{
    const DwPlot *plot = &page->plots[block->index];
    double words = captions_height(canvas, plot->caption, width) + picture_gap * canvas->em;
    double stems = dw_plot_stems_height(canvas, plot, width) / canvas->em;
    block->wish = words + (16 + stems) * canvas->em;
    block->least = words + (11 + stems) * canvas->em;
}

// What parts the first caution's box from whatever stands above it.
static double above_caution(const DwCanvas *canvas, const DwBlock *block)
{
    return block->index == 0 ? 0.6 * canvas->em : 0;
}

static double fixed_height(const DwSheetPage *page, const DwCanvas *canvas, const DwBlock *block, double width)
{
    const DwSheet *sheet = page->sheet;
    switch (block->kind) {
    case DW_BLOCK_HEAD:
        return dw_sheet_words_head_height(canvas, sheet, page->before, width);
    case DW_BLOCK_CELLS:
        return cells_height(page, canvas, block->index, width);
    case DW_BLOCK_LIST_HEAD:
    case DW_BLOCK_REMARKS_HEAD:
    case DW_BLOCK_MISSING_HEAD:
        return 2.4 * canvas->em;
    case DW_BLOCK_LIST_LINE:
        return dw_reading_cell_line_height(canvas, &sheet->readings[block->index], width);
    case DW_BLOCK_CAUTION:
        return dw_sheet_words_caution_height(canvas, &sheet->cautions[block->index], width) +
               above_caution(canvas, block);
    case DW_BLOCK_REMARK:
        return dw_sheet_words_remark_height(canvas, &sheet->remarks[block->index], width);
    case DW_BLOCK_MISSING:
        return dw_sheet_words_missing_height(canvas, &sheet->not_measured[block->index], width);
    case DW_BLOCK_TILES:
        return dw_side_overview_height(canvas, sheet, width) + picture_gap * canvas->em;
    case DW_BLOCK_STRIP:
        return strip_height(page, canvas, block, width);
    case DW_BLOCK_ARM:
    case DW_BLOCK_RASTER:
    case DW_BLOCK_PLOT:
        break;
    }
    assert(!"a picture's height is not fixed");
    return 0;
}

void dw_sheet_page_measure(DwSheetPage *page, const DwCanvas *canvas, double width)
{
    for (size_t i = 0; i < page->block_count; i++) {
        DwBlock *block = &page->blocks[i];
        if (block->kind == DW_BLOCK_RASTER)
            measure_raster(page, canvas, block, width);
        else if (block->kind == DW_BLOCK_PLOT)
            measure_plot(page, canvas, block, width);
        else if (block->kind == DW_BLOCK_ARM)
            measure_arm(page, canvas, block, width);
        else
            block->least = block->wish = fixed_height(page, canvas, block, width);
    }
}

static void draw_heading(const DwCanvas *canvas, DwBox box, const char *text)
{
    dw_canvas_write(canvas, heading, box.x, box.y + 1.5 * canvas->em, 0, text);
}

static void draw_list_head(const DwCanvas *canvas, DwBox box, size_t number)
{
    char *text =
        number ? dw_say("Further readings: %s", dw_said(dw_side_measured_at(number - 1))) : dw_say("Further readings");
    draw_heading(canvas, box, text);
    free(text);
}

void dw_sheet_page_draw_block(const DwSheetPage *page, size_t index, const DwCanvas *canvas, DwBox box)
{
    const DwSheet *sheet = page->sheet;
    const DwBlock *block = &page->blocks[index];
    switch (block->kind) {
    case DW_BLOCK_HEAD:
        dw_sheet_words_draw_head(canvas, sheet, page->before, box);
        break;
    case DW_BLOCK_CELLS:
        draw_cells(page, canvas, block->index, box);
        break;
    case DW_BLOCK_LIST_HEAD:
        draw_list_head(canvas, box, block->index);
        break;
    case DW_BLOCK_LIST_LINE:
        dw_reading_cell_draw_line(canvas, &sheet->readings[block->index], box.x, box.y + canvas->em, box.width);
        break;
    case DW_BLOCK_STRIP:
        draw_strip(page, canvas, block, box);
        break;
    case DW_BLOCK_TILES:
        dw_side_overview_draw(canvas, sheet, box);
        break;
    case DW_BLOCK_ARM:
        draw_arm(page, canvas, box);
        break;
    case DW_BLOCK_RASTER:
        draw_raster(page, canvas, block, box);
        break;
    case DW_BLOCK_PLOT:
        draw_plot(page, canvas, block, box);
        break;
    case DW_BLOCK_CAUTION:
        box.y += above_caution(canvas, block);
        box.height -= above_caution(canvas, block);
        dw_sheet_words_draw_caution(canvas, &sheet->cautions[block->index], box);
        break;
    case DW_BLOCK_REMARKS_HEAD:
        draw_heading(canvas, box, dw_said("Remarks"));
        break;
    case DW_BLOCK_REMARK:
        dw_sheet_words_draw_remark(canvas, &sheet->remarks[block->index], box);
        break;
    case DW_BLOCK_MISSING_HEAD:
        draw_heading(canvas, box, dw_said("Not measured"));
        break;
    case DW_BLOCK_MISSING:
        dw_sheet_words_draw_missing(canvas, &sheet->not_measured[block->index], box);
        break;
    }
}

bool dw_sheet_page_is_heading(const DwSheetPage *page, size_t index)
{
    DwBlockKind kind = page->blocks[index].kind;
    return kind == DW_BLOCK_HEAD || kind == DW_BLOCK_LIST_HEAD || kind == DW_BLOCK_REMARKS_HEAD ||
           kind == DW_BLOCK_MISSING_HEAD;
}
