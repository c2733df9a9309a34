// SPDX-License-Identifier: MIT
// The head of a paper's first page: the only place for the shop's colour.
#include "report/piece.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

typedef struct {
    char *name, *address;
    const DwPicture *logo;
    DwColour colour;
} Shop;

static const DwLetters name_letters = {.size = 1.3, .bold = true, .ink = DW_INK_TEXT};
static const DwLetters address_letters = {.size = 0.82, .ink = DW_INK_QUIET};
static const double logo_height = 3.2, logo_width = 6; // em
static const double address_share = 0.36;

static double address_width(double width)
{
    return address_share * width;
}

static double text_height(const Shop *shop, const DwCanvas *canvas, double width)
{
    return fmax(dw_canvas_paragraph_height(canvas, address_letters, address_width(width), shop->address),
                (shop->logo ? logo_height : 2.2) * canvas->em);
}

static double shop_height(const void *content, const DwCanvas *canvas, double width)
{
    return text_height(content, canvas, width) + 0.9 * canvas->em;
}

static double logo_room(const Shop *shop, double em)
{
    return shop->logo ? fmin(logo_width * em, logo_height * em * shop->logo->width / shop->logo->height) : 0;
}

static void draw_logo(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Shop *shop = content;
    if (shop->logo)
        dw_picture_draw(shop->logo, canvas->cairo, box.x, box.y, logo_room(shop, canvas->em), logo_height * canvas->em,
                        0);
}

// The name and the address are a paragraph each to a screen reader.
static void begin_part(const DwCanvas *canvas)
{
    if (!canvas->untagged)
        cairo_tag_begin(canvas->cairo, "P", NULL);
}

static void end_part(const DwCanvas *canvas)
{
    if (!canvas->untagged)
        cairo_tag_end(canvas->cairo, "P");
}

static void draw_shop(const void *content, const DwCanvas *canvas, DwBox box)
{
    const Shop *shop = content;
    double em = canvas->em, height = text_height(shop, canvas, box.width), x = box.x;
    double address_x = box.x + box.width - address_width(box.width);
    if (shop->logo)
        x += logo_room(shop, em) + 0.8 * em;
    double name_height = dw_canvas_paragraph_height(canvas, name_letters, address_x - x - em, shop->name);
    begin_part(canvas);
    dw_canvas_paragraph(canvas, name_letters, x, box.y + (height - name_height) / 2, address_x - x - em, shop->name);
    end_part(canvas);
    begin_part(canvas);
    dw_canvas_paragraph(canvas, address_letters, address_x, box.y, address_width(box.width), shop->address);
    end_part(canvas);
    cairo_set_source_rgb(canvas->cairo, shop->colour.red, shop->colour.green, shop->colour.blue);
    cairo_rectangle(canvas->cairo, box.x, box.y + height + 0.5 * em, box.width, 0.3 * em);
    cairo_fill(canvas->cairo);
}

static void clear_shop(void *content)
{
    Shop *shop = content;
    free(shop->name);
    free(shop->address);
}

void dw_piece_shop(DwFlow *flow, const DwPieceShop *given)
{
    static const DwPieceKind kind = {shop_height, draw_shop, clear_shop, draw_logo};
    DwPiece *piece = dw_flow_add(flow, &kind, sizeof(Shop), 0);
    Shop *shop = piece->content;
    piece->tag = "Div";
    *shop = (Shop){dw_memory_text(given->name), dw_memory_text(given->address), given->logo, given->colour};
}
