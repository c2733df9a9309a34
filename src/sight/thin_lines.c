// SPDX-License-Identifier: MIT
#include "sight/thin_lines.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { REACH_MOST = 8, PIXELS_MOST = 1 << 21 };

static const double blur_px = 3;   // of lens and pixels: it makes a line look so much wider
static const int least_fill = 8;   // of 255
static const int beyond_noise = 3; // of what is usually filled

typedef struct {
    int width, height;
    uint8_t *pixels;
} Piece;

// A disc by the half length of its rows.
typedef struct {
    int reach, half[2 * REACH_MOST + 1];
} Disc;

static Disc disc_of(double width_px)
{
    double radius = width_px / 2;
    Disc disc = {.reach = (int)radius};
    for (int y = -disc.reach; y <= disc.reach; y++)
        disc.half[y + disc.reach] = (int)sqrt(radius * radius - y * y);
    return disc;
}

// Of each pixel the brightest within the disc about it, or the darkest where SIGN is −1.
static void spread(const Piece *from, const Disc *disc, int sign, Piece *to)
{
    for (int y = 0; y < from->height; y++)
        for (int x = 0; x < from->width; x++) {
            int most = -256;
            for (int dy = -disc->reach; dy <= disc->reach; dy++) {
                if (y + dy < 0 || y + dy >= from->height)
                    continue;
                int half = disc->half[dy + disc->reach], first = x - half < 0 ? 0 : x - half,
                    last = x + half >= from->width ? from->width - 1 : x + half;
                const uint8_t *row = from->pixels + (ptrdiff_t)(y + dy) * from->width;
                for (int i = first; i <= last; i++)
                    most = sign * row[i] > most ? sign * row[i] : most;
            }
            to->pixels[(ptrdiff_t)y * to->width + x] = (uint8_t)(sign * most);
        }
}

// What the closing usually adds: that of noise, lines being few.
static int usual_fill(const Piece *piece, const Piece *closed)
{
    size_t count = (size_t)piece->width * (size_t)piece->height, of[256] = {0}, sum = 0;
    for (size_t i = 0; i < count; i++)
        of[closed->pixels[i] > piece->pixels[i] ? closed->pixels[i] - piece->pixels[i] : 0]++;
    for (int fill = 0; fill < 256; fill++) {
        sum += of[fill];
        if (2 * sum >= count)
            return fill;
    }
    return 255;
}

// The mean of the nine pixels about each: noise shall not look like lines.
static void smooth(const Piece *from, Piece *to)
{
    for (int y = 0; y < from->height; y++)
        for (int x = 0; x < from->width; x++) {
            int sum = 0, count = 0;
            for (int v = y > 0 ? y - 1 : y; v <= y + 1 && v < from->height; v++)
                for (int u = x > 0 ? x - 1 : x; u <= x + 1 && u < from->width; u++, count++)
                    sum += from->pixels[(ptrdiff_t)v * from->width + u];
            to->pixels[(ptrdiff_t)y * to->width + x] = (uint8_t)((sum + count / 2) / count);
        }
}

static Piece piece_like(const Piece *piece)
{
    return (Piece){piece->width, piece->height, dw_memory_new((size_t)piece->width * (size_t)piece->height, 1)};
}

// Returned: 255 for each pixel that was filled.
static uint8_t *fill_lines(Piece *piece, const Disc *disc)
{
    size_t count = (size_t)piece->width * (size_t)piece->height;
    Piece even = piece_like(piece), wide = piece_like(piece), closed = piece_like(piece);
    smooth(piece, &even);
    spread(&even, disc, 1, &wide);
    spread(&wide, disc, -1, &closed);
    int least = beyond_noise * usual_fill(&even, &closed);
    least = least > least_fill ? least : least_fill;
    for (size_t i = 0; i < count; i++) {
        bool fills = closed.pixels[i] - even.pixels[i] > least;
        piece->pixels[i] = fills ? closed.pixels[i] : piece->pixels[i];
        wide.pixels[i] = fills ? 255 : 0;
    }
    free(even.pixels);
    free(closed.pixels);
    return wide.pixels;
}

bool dw_thin_lines_leave_out(const DwGrey *grey, DwPoint least, DwPoint most, double line_px, DwWithoutLines *made)
{
    double width_px = fmin(line_px + blur_px, 2 * REACH_MOST), margin = 2 * REACH_MOST;
    int left = (int)fmax(0, least.x - margin), top = (int)fmax(0, least.y - margin);
    int right = (int)fmin(grey->width, most.x + margin), bottom = (int)fmin(grey->height, most.y + margin);
    if (right <= left || bottom <= top || (int64_t)(right - left) * (bottom - top) > PIXELS_MOST)
        return false;
    Piece piece = {right - left, bottom - top, NULL};
    piece.pixels = dw_memory_new((size_t)piece.width * (size_t)piece.height, 1);
    for (int y = 0; y < piece.height; y++)
        memcpy(piece.pixels + (ptrdiff_t)y * piece.width, grey->pixels + (ptrdiff_t)(top + y) * grey->stride + left,
               (size_t)piece.width);
    Disc disc = disc_of(width_px);
    uint8_t *filled = fill_lines(&piece, &disc);
    *made = (DwWithoutLines){{piece.width, piece.height, piece.width, piece.pixels},
                             {piece.width, piece.height, piece.width, filled},
                             left,
                             top};
    return true;
}

void dw_thin_lines_clear(DwWithoutLines *made)
{
    free((void *)(uintptr_t)made->grey.pixels);
    free((void *)(uintptr_t)made->filled.pixels);
    *made = (DwWithoutLines){.left = 0};
}
