// SPDX-License-Identifier: MIT
// Pictures in pairs, plots, and the line to sign on.
#include "report/piece.h"

#include "base/memory.h"
#include "base/text.h"
#include "chart/draw/raster.h"

#include <math.h>
#include <stdlib.h>

typedef struct {
    DwPicture *pictures[2];
    char *captions[2];
} Pair;

static const DwLetters caption_letters = {.size = 0.86, .ink = DW_INK_QUIET};
static const double gap = 1.2;           // em
static const double tallest_share = 0.8; // of a picture's width

// A piece that is drawn: its words are ALT, which it takes over.
static void be_figure(DwFlow *flow, char *alt)
{
    DwPiece *piece = &flow->pieces[flow->count - 1];
    piece->tag = "Figure";
    piece->begins = true;
    piece->alt = alt;
}

static double pair_width(const DwCanvas *canvas, double width)
{
    return (width - gap * canvas->em) / 2;
}

// As high as the higher of the two, both at one scale, so that the same angle looks the same.
static double picture_height(const Pair *pair, double width)
{
    double height = 0;
    for (size_t i = 0; i < 2; i++)
        if (pair->pictures[i])
            height = fmax(height, width * pair->pictures[i]->height / pair->pictures[i]->width);
    return fmin(height, tallest_share * width);
}

static double pair_height(const void *content, const DwCanvas *canvas, double width)
{
    const Pair *pair = content;
    double each = pair_width(canvas, width), captions = 0;
    for (size_t i = 0; i < 2; i++)
        captions = fmax(captions, dw_canvas_paragraph_height(canvas, caption_letters, each, pair->captions[i]));
    return picture_height(pair, each) + 0.3 * canvas->em + captions;
}

static void draw_pair_pictures(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Pair *pair = content;
    double width = pair_width(canvas, box.width), height = picture_height(pair, width);
    for (size_t i = 0; i < 2; i++)
        if (pair->pictures[i])
            dw_picture_draw(pair->pictures[i], canvas->cairo, box.x + (double)i * (width + gap * canvas->em), box.y,
                            width, height, 0);
}

static void draw_pair(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Pair *pair = content;
    double width = pair_width(canvas, box.width), height = picture_height(pair, width);
    for (size_t i = 0; i < 2; i++) {
        double x = box.x + (double)i * (width + gap * canvas->em);
        dw_canvas_paragraph(canvas, caption_letters, x, box.y + height + 0.3 * canvas->em, width, pair->captions[i]);
    }
}

static void clear_pair(void *content)
{
    Pair *pair = content;
    for (size_t i = 0; i < 2; i++) {
        dw_picture_free(pair->pictures[i]);
        free(pair->captions[i]);
    }
}

void dw_piece_pictures(DwFlow *flow, DwPicture *first, const char *first_caption, DwPicture *second,
                       const char *second_caption)
{
    static const DwPieceKind kind = {pair_height, draw_pair, clear_pair, draw_pair_pictures};
    Pair *pair = dw_flow_add(flow, &kind, sizeof(Pair), 0.8)->content;
    *pair = (Pair){{first, second}, {dw_memory_text(first_caption), dw_memory_text(second_caption)}};
    be_figure(flow, dw_text_format("%s%s%s", first_caption, *second_caption ? "; " : "", second_caption));
}

typedef struct {
    const DwPlot *plot;
} Plotted;

static const DwLetters plot_letters = {.size = 0.86, .ink = DW_INK_QUIET};
static const DwLetters plot_title_letters = {.size = 1, .bold = true, .ink = DW_INK_TEXT};
static const double plot_share = 0.36; // of the width: the field's height

// What stands within a chart is smaller than the paper's text.
static DwCanvas smaller_canvas(const DwCanvas *canvas)
{
    DwCanvas smaller = *canvas;
    smaller.em *= 0.86;
    return smaller;
}

static double field_height(const DwPlot *plot, const DwCanvas *canvas, double width)
{
    return plot_share * width + dw_plot_stems_height(canvas, plot, width);
}

static double plot_height(const void *content, const DwCanvas *canvas, double width)
{
    const DwPlot *plot = ((const Plotted *)content)->plot;
    return 1.6 * canvas->em + field_height(plot, canvas, width) +
           dw_canvas_paragraph_height(canvas, plot_letters, width, plot->caption);
}

static void draw_plot(const void *content, const DwCanvas *canvas, DwBox box)
{
    const DwPlot *plot = ((const Plotted *)content)->plot;
    double field = field_height(plot, canvas, box.width), top = box.y + 1.4 * canvas->em;
    dw_canvas_write_within(canvas, plot_title_letters, box.x, box.y + 0.95 * canvas->em, box.width, plot->title);
    DwCanvas smaller = smaller_canvas(canvas);
    dw_plot_draw(&smaller, plot, (DwBox){box.x, top, box.width, field});
    dw_canvas_paragraph(canvas, plot_letters, box.x, top + field + 0.2 * canvas->em, box.width, plot->caption);
}

static void clear_plot(void *content)
{
    (void)content; // the plot belongs to whoever made it
}

void dw_piece_plot(DwFlow *flow, const DwPlot *plot)
{
    static const DwPieceKind kind = {plot_height, draw_plot, clear_plot, NULL};
    ((Plotted *)dw_flow_add(flow, &kind, sizeof(Plotted), 1)->content)->plot = plot;
    be_figure(flow, dw_text_format("%s. %s", plot->title, plot->caption));
}

typedef struct {
    const DwRaster *raster;
    double end;
    char *title, *caption;
} Rastered;

// Its legend and key stand below each other beside it.
static double raster_room(const DwCanvas *canvas, const DwRaster *raster)
{
    DwCanvas smaller = smaller_canvas(canvas);
    return fmax(dw_raster_height(&smaller, raster), 15.5 * smaller.em);
}

static double raster_height(const void *content, const DwCanvas *canvas, double width)
{
    const Rastered *rastered = content;
    return 1.8 * canvas->em + raster_room(canvas, rastered->raster) +
           dw_canvas_paragraph_height(canvas, plot_letters, width, rastered->caption);
}

static void draw_raster_field(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Rastered *rastered = content;
    DwCanvas smaller = smaller_canvas(canvas);
    double field = raster_room(canvas, rastered->raster), top = box.y + 1.4 * canvas->em;
    dw_raster_draw(&smaller, rastered->raster, rastered->end, (DwBox){box.x, top, box.width, field});
}

static void draw_raster(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Rastered *rastered = content;
    double field = raster_room(canvas, rastered->raster), top = box.y + 1.4 * canvas->em;
    dw_canvas_write_within(canvas, plot_title_letters, box.x, box.y + 0.95 * canvas->em, box.width, rastered->title);
    dw_canvas_paragraph(canvas, plot_letters, box.x, top + field + 0.4 * canvas->em, box.width, rastered->caption);
}

static void clear_raster(void *content)
{
    Rastered *rastered = content;
    free(rastered->title);
    free(rastered->caption);
}

void dw_piece_raster(DwFlow *flow, const DwRaster *raster, double end, const char *title, const char *caption)
{
    static const DwPieceKind kind = {raster_height, draw_raster, clear_raster, draw_raster_field};
    Rastered *rastered = dw_flow_add(flow, &kind, sizeof(Rastered), 1)->content;
    *rastered = (Rastered){raster, end, dw_memory_text(title), dw_memory_text(caption)};
    be_figure(flow, dw_text_format("%s. %s", title, caption));
}

typedef struct {
    char *who, *when;
    char *beside, *beside_when; // who signs beside it; NULL: nobody
    DwPicture *picture;
} Signed;

static const double line_share = 0.5; // of a signature's width: the line for the name

// The width of one signature, or of one of TWO side by side.
static double signer_width(const DwCanvas *canvas, double width, bool two)
{
    return two ? (width - 2 * canvas->em) / 2 : width;
}

static double signature_height(const void *content, const DwCanvas *canvas, double width)
{
    const Signed *signature = content;
    double line = line_share * signer_width(canvas, width, signature->beside != NULL);
    double name = dw_canvas_paragraph_height(canvas, caption_letters, line, signature->who);
    if (signature->beside)
        name = fmax(name, dw_canvas_paragraph_height(canvas, caption_letters, line, signature->beside));
    return (signature->picture ? 4.3 : 2.9) * canvas->em + name;
}

static void draw_signature_picture(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Signed *signature = content;
    if (signature->picture)
        dw_picture_draw(signature->picture, canvas->cairo, box.x, box.y,
                        0.4 * signer_width(canvas, box.width, signature->beside != NULL), 4 * canvas->em, 0);
}

// The line stands at LINE, where a hand has room above it; a long name goes on below it.
static void draw_signer(const DwCanvas *canvas, DwBox box, double line, const char *who, const char *when)
{
    double em = canvas->em, width = line_share * box.width, left = box.width - width - em;
    dw_canvas_use(canvas, DW_INK_QUIET);
    cairo_rectangle(canvas->cairo, box.x, line, width, 0.08 * em);
    cairo_rectangle(canvas->cairo, box.x + width + em, line, left, 0.08 * em);
    cairo_fill(canvas->cairo);
    dw_canvas_paragraph(canvas, caption_letters, box.x, line + 0.2 * em, width, who);
    dw_canvas_write_within(canvas, caption_letters, box.x + width + em,
                           line + 0.2 * em + dw_canvas_baseline(canvas, caption_letters), left, when);
}

static void draw_signature(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Signed *signature = content;
    double line = box.y + (signature->picture ? 4.1 : 2.7) * canvas->em;
    DwBox one = box;
    one.width = signer_width(canvas, box.width, signature->beside != NULL);
    draw_signer(canvas, one, line, signature->who, signature->when);
    if (!signature->beside)
        return;
    one.x = box.x + box.width - one.width;
    draw_signer(canvas, one, line, signature->beside, signature->beside_when);
}

static void clear_signature(void *content)
{
    Signed *signature = content;
    free(signature->who);
    free(signature->when);
    free(signature->beside);
    free(signature->beside_when);
    dw_picture_free(signature->picture);
}

static Signed *add_signature(DwFlow *flow, const char *who, const char *when, DwPicture *picture)
{
    static const DwPieceKind kind = {signature_height, draw_signature, clear_signature, draw_signature_picture};
    if (flow->count)
        flow->pieces[flow->count - 1].with_next = true;
    Signed *signature = dw_flow_add(flow, &kind, sizeof(Signed), 0.8)->content;
    *signature = (Signed){.who = dw_memory_text(who), .when = dw_memory_text(when), .picture = picture};
    return signature;
}

void dw_piece_signature(DwFlow *flow, const char *who, const char *when, DwPicture *picture)
{
    add_signature(flow, who, when, picture);
}

void dw_piece_two_signatures(DwFlow *flow, const char *who, const char *when, DwPicture *picture, const char *beside,
                             const char *beside_when)
{
    Signed *signature = add_signature(flow, who, when, picture);
    signature->beside = dw_memory_text(beside);
    signature->beside_when = dw_memory_text(beside_when);
}
