// SPDX-License-Identifier: MIT
#include "sight/outline.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { BLOCK = 48, WIDEST = 120, NONE = 0, OUTSIDE = 1, FIRST_AREA = 2 };

static const double ground_share = 0.85; // of a block's pixels are darker than its ground
static const double least_contrast = 25;
static const double dark_most = 1.0 / 3; // of the ground's lightest: a ground in half a shadow is none
static const double black_most = 0.12;   // that a black ring is seen lighter than what else is dark

// The light from dark (0) to the ground about each place (1).
typedef struct {
    int width, height;
    float *share;
    int *area; // OUTSIDE, or the number of a light area; NONE where it is dark
} Field;

static int compare(const void *a, const void *b)
{
    return *(const uint8_t *)a - *(const uint8_t *)b;
}

// The ground of the block that begins at X, Y.
static double ground_of(const DwGrey *grey, int x, int y)
{
    uint8_t values[BLOCK * BLOCK];
    size_t count = 0;
    for (int v = y; v < y + BLOCK && v < grey->height; v++)
        for (int u = x; u < x + BLOCK && u < grey->width; u++)
            values[count++] = grey->pixels[(ptrdiff_t)v * grey->stride + u];
    qsort(values, count, 1, compare);
    return values[(size_t)(ground_share * (double)(count - 1))];
}

// The dark: the mean of what has much less light than the ground's lightest.
static double dark_of(const DwGrey *grey, double lightest)
{
    double sum = 0, count = 0;
    for (int y = 0; y < grey->height; y++)
        for (int x = 0; x < grey->width; x++) {
            double value = grey->pixels[(ptrdiff_t)y * grey->stride + x];
            if (value < lightest * dark_most) {
                sum += value;
                count++;
            }
        }
    return count > 0 ? sum / count : 0;
}

static bool make_field(const DwGrey *grey, Field *field)
{
    int across = (grey->width + BLOCK - 1) / BLOCK, down = (grey->height + BLOCK - 1) / BLOCK;
    double *grounds = dw_memory_new((size_t)across * (size_t)down, sizeof *grounds), lightest = 0;
    for (int j = 0; j < down; j++)
        for (int i = 0; i < across; i++) {
            grounds[j * across + i] = ground_of(grey, i * BLOCK, j * BLOCK);
            lightest = fmax(lightest, grounds[j * across + i]);
        }
    double dark = dark_of(grey, lightest);
    for (int y = 0; y < grey->height; y++)
        for (int x = 0; x < grey->width; x++) {
            // Between the middles of four blocks, so that nothing jumps from block to block.
            double u = fmax(0, fmin(across - 1.001, (x + 0.5) / BLOCK - 0.5));
            double v = fmax(0, fmin(down - 1.001, (y + 0.5) / BLOCK - 0.5));
            int i = (int)u, j = (int)v, right = i + 1 < across ? i + 1 : i, below = j + 1 < down ? j + 1 : j;
            double ground =
                (1 - v + j) * ((1 - u + i) * grounds[j * across + i] + (u - i) * grounds[j * across + right]) +
                (v - j) * ((1 - u + i) * grounds[below * across + i] + (u - i) * grounds[below * across + right]);
            double value = grey->pixels[(ptrdiff_t)y * grey->stride + x];
            field->share[(ptrdiff_t)y * field->width + x] =
                (float)((value - dark) / fmax(least_contrast, ground - dark));
        }
    free(grounds);
    return lightest - dark >= least_contrast;
}

// Gives the light area about START its NUMBER. Returned: its pixels.
static size_t flood(Field *field, int start, int number, int *stack)
{
    size_t count = 0, depth = 0;
    field->area[start] = number;
    stack[depth++] = start;
    while (depth > 0) {
        int at = stack[--depth], x = at % field->width, y = at / field->width;
        const int next[] = {x > 0 ? at - 1 : at, x + 1 < field->width ? at + 1 : at, y > 0 ? at - field->width : at,
                            y + 1 < field->height ? at + field->width : at};
        count++;
        for (int k = 0; k < 4; k++)
            if (field->area[next[k]] == NONE && field->share[next[k]] >= 0.5f) {
                field->area[next[k]] = number;
                stack[depth++] = next[k];
            }
    }
    return count;
}

// The largest light area that does not reach the border. Returned: its pixels, its number in *NUMBER, and the pixels of
// the next in *OTHER.
static size_t find_inside(Field *field, int *number, size_t *other)
{
    int pixels = field->width * field->height, next = FIRST_AREA;
    int *stack = dw_memory_new((size_t)pixels, sizeof *stack);
    size_t most = 0;
    *other = 0;
    for (int i = 0; i < pixels; i++) {
        int x = i % field->width, y = i / field->width;
        bool border = x == 0 || y == 0 || x + 1 == field->width || y + 1 == field->height;
        if (border && field->area[i] == NONE && field->share[i] >= 0.5f)
            flood(field, i, OUTSIDE, stack);
    }
    for (int i = 0; i < pixels; i++)
        if (field->area[i] == NONE && field->share[i] >= 0.5f) {
            size_t count = flood(field, i, next, stack);
            if (count > most) {
                *other = most;
                most = count;
                *number = next;
            } else if (count > *other)
                *other = count;
            next++;
        }
    free(stack);
    return most;
}

static bool is_in(const Field *field, int x, int y, int number)
{
    return x >= 0 && y >= 0 && x < field->width && y < field->height && field->area[y * field->width + x] == number;
}

// Where the light passes the half between the pixel (X, Y), light, and that at (U, V), dark.
static DwPoint passing(const Field *field, int x, int y, int u, int v)
{
    double light = field->share[y * field->width + x], dark = field->share[v * field->width + u];
    double share = light > dark ? fmax(0, fmin(1, (light - 0.5) / (light - dark))) : 0.5;
    return (DwPoint){x + 0.5 + share * (u - x), y + 0.5 + share * (v - y)};
}

// Walks round the area NUMBER, its pixels to the right hand, and notes where the outline passes.
static void trace(const Field *field, int number, DwOutline *outline)
{
    static const int step_x[] = {1, 0, -1, 0}, step_y[] = {0, 1, 0, -1}; // to the right, down, left, up
    int start = 0, way = 0;
    while (field->area[start] != number)
        start++;
    int x = start % field->width, y = start / field->width, first_x = x, first_y = y;
    size_t room = 0, most = 4 * (size_t)field->width * (size_t)field->height;
    do { // at the left of the way lies no pixel of the area
        int left = (way + 3) % 4, u = x + step_x[left], v = y + step_y[left];
        if (u >= 0 && v >= 0 && u < field->width && v < field->height) {
            if (outline->count == room) {
                room = room ? 2 * room : 1024;
                outline->points = dw_memory_resize(outline->points, room, sizeof *outline->points);
            }
            outline->points[outline->count++] = passing(field, x, y, u, v);
        }
        int ahead_x = x + step_x[way], ahead_y = y + step_y[way];
        if (is_in(field, ahead_x + step_x[left], ahead_y + step_y[left], number) &&
            is_in(field, ahead_x, ahead_y, number)) {
            x = ahead_x + step_x[left];
            y = ahead_y + step_y[left];
            way = left;
        } else if (is_in(field, ahead_x, ahead_y, number)) {
            x = ahead_x;
            y = ahead_y;
        } else
            way = (way + 1) % 4;
    } while ((x != first_x || y != first_y || way != 0) && outline->count < most);
}

static double share_at(const Field *field, DwPoint at)
{
    int x = (int)floor(at.x - 0.5), y = (int)floor(at.y - 0.5);
    if (x < 0 || y < 0 || x + 1 >= field->width || y + 1 >= field->height)
        return NAN;
    double a = at.x - 0.5 - x, b = at.y - 0.5 - y;
    const float *upper = field->share + (ptrdiff_t)y * field->width + x, *lower = upper + field->width;
    return (1 - b) * ((1 - a) * upper[0] + a * upper[1]) + b * ((1 - a) * lower[0] + a * lower[1]);
}

// From AT along OUTWARDS to where it is light again.
static double width_at(const Field *field, DwPoint at, DwPoint outwards)
{
    double before = 0;
    for (double far = 1; far < WIDEST; far += 0.5) {
        double here = share_at(field, (DwPoint){at.x + far * outwards.x, at.y + far * outwards.y});
        if (isnan(here))
            return NAN;
        if (here >= 0.5 && far > 1.5)
            return far - 0.5 * (here - 0.5) / fmax(1e-6, here - before);
        before = here;
    }
    return NAN;
}

static void find_widths(const Field *field, DwOutline *outline)
{
    size_t n = outline->count, reach = 8;
    outline->widths = dw_memory_new(n, sizeof *outline->widths);
    for (size_t i = 0; i < n; i++) {
        DwPoint from = outline->points[(i + n - reach) % n], to = outline->points[(i + reach) % n];
        double length = hypot(to.x - from.x, to.y - from.y);
        // The area lies to the right hand of the way (y runs down): outwards is to the left.
        DwPoint outwards = {(to.y - from.y) / length, -(to.x - from.x) / length};
        outline->widths[i] = length > 0 ? width_at(field, outline->points[i], outwards) : NAN;
    }
}

// Finds the outline by what is light and what is dark now. Returned: false where there is none.
static bool find_once(Field *field, double least_area, DwOutline *outline)
{
    size_t pixels = (size_t)field->width * (size_t)field->height, other = 0;
    int number = NONE;
    memset(field->area, 0, pixels * sizeof *field->area);
    dw_outline_clear(outline);
    if ((double)find_inside(field, &number, &other) < least_area)
        return false;
    outline->other = (double)other;
    trace(field, number, outline);
    if (outline->count < 64)
        return false;
    find_widths(field, outline);
    return true;
}

// How light the ring is in its middle, usually.
static double ring_of(const Field *field, const DwOutline *outline)
{
    size_t n = outline->count, reach = 8, count = 0;
    double *shares = dw_memory_new(n, sizeof *shares);
    for (size_t i = 0; i < n; i++) {
        DwPoint from = outline->points[(i + n - reach) % n], to = outline->points[(i + reach) % n],
                at = outline->points[i];
        double half = outline->widths[i] / 2 / hypot(to.x - from.x, to.y - from.y);
        double here = isfinite(half)
                          ? share_at(field, (DwPoint){at.x + half * (to.y - from.y), at.y - half * (to.x - from.x)})
                          : NAN;
        if (!isnan(here))
            shares[count++] = here;
    }
    double middle = count > 0 ? dw_statistics_middle(shares, count) : 0;
    free(shares);
    return middle;
}

// Counts the light from that of the RING on.
static void darken(Field *field, double ring)
{
    for (ptrdiff_t i = 0; i < (ptrdiff_t)field->width * field->height; i++)
        field->share[i] = (float)((field->share[i] - ring) / (1 - ring));
}

bool dw_outline_find(const DwGrey *grey, double least_area, DwOutline *outline)
{
    size_t pixels = (size_t)grey->width * (size_t)grey->height;
    Field field = {grey->width, grey->height, dw_memory_new(pixels, sizeof(float)), dw_memory_new(pixels, sizeof(int))};
    DwOutline made = {0};
    bool found = make_field(grey, &field) && find_once(&field, least_area, &made);
    double ring = found ? ring_of(&field, &made) : 0;
    if (ring > black_most) {
        darken(&field, ring);
        found = find_once(&field, least_area, &made);
    }
    if (found)
        *outline = made;
    else
        dw_outline_clear(&made);
    free(field.share);
    free(field.area);
    return found;
}

void dw_outline_clear(DwOutline *outline)
{
    free(outline->points);
    free(outline->widths);
    *outline = (DwOutline){0};
}
