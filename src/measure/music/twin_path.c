// SPDX-License-Identifier: MIT
#include "measure/music/twin_path.h"

#include "base/memory.h"
#include "base/wide.h"
#include "dsp/cross_spectrum.h"
#include "dsp/statistics.h"
#include "measure/music/twin_features.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { STRETCHES_MOST = 10, RATIOS = 39, NEAR = 2 }; // ratios either way of one that is known
enum { LANES = 16 };

static const double STRETCH_S = 20, RATIO_STEP = 0.005, AGREE_S = 0.4;
static const double STRONG = 7, CLEAR = 14;    // a stretch's correlation over the rms of all: found; beyond doubt
static const double PLACE_S = 1, AROUND_S = 3; // from place to place; of features around each, either way
static const double REACH_S = 14;              // that the path may stray from a straight line
static const double JUMP_PRICE = 0.8, STEP_PRICE = 0.02;
static const double LEAST_LIKENESS = 0.25;
static const float OUTSIDE = -0.05F; // the likeness of what lies before or behind the second

// --- the whole ------------------------------------------------------------------

typedef struct {
    double at_s, other_s, ratio, strength;
} Stretch;

// The second recording's features, transformed once.
typedef struct {
    DwCross *cross;
    size_t size;
    double (*bins[DW_TWIN_BANDS])[2];
    double (*sum)[2], (*own)[2];
    double *samples, *correlation;
} Search;

static Search begin_search(const DwTwinFeatures *two, size_t longest)
{
    Search search = {.size = 1024};
    while (search.size < two->count + longest)
        search.size *= 2;
    search.cross = dw_cross_new(search.size);
    search.samples = dw_memory_new(search.size, sizeof *search.samples);
    search.correlation = dw_memory_new(search.size, sizeof *search.correlation);
    search.sum = dw_memory_new(search.size / 2 + 1, sizeof *search.sum);
    search.own = dw_memory_new(search.size / 2 + 1, sizeof *search.own);
    for (size_t b = 0; b < DW_TWIN_BANDS; b++) {
        search.bins[b] = dw_memory_new(search.size / 2 + 1, sizeof *search.bins[b]);
        for (size_t n = 0; n < two->count; n++)
            search.samples[n] = two->band[b][n];
        dw_cross_transform(search.cross, search.samples, two->count, search.bins[b]);
    }
    return search;
}

static void end_search(Search *search)
{
    for (size_t b = 0; b < DW_TWIN_BANDS; b++)
        free(search->bins[b]);
    free(search->sum);
    free(search->own);
    free(search->samples);
    free(search->correlation);
    dw_cross_free(search->cross);
}

// Correlates the first's values FROM to FROM + COUNT, drawn out by RATIO, with all of the second.
static void correlate(Search *search, const DwTwinFeatures *one, size_t from, size_t count, double ratio)
{
    size_t drawn = (size_t)((double)count * ratio);
    memset(search->sum, 0, (search->size / 2 + 1) * sizeof *search->sum);
    for (size_t b = 0; b < DW_TWIN_BANDS; b++) {
        for (size_t n = 0; n < drawn; n++)
            search->samples[n] = dw_twin_features_at(one, b, (double)from + (double)n / ratio);
        dw_cross_transform(search->cross, search->samples, drawn, search->own);
        for (size_t k = 0; k <= search->size / 2; k++) {
            double ar = search->own[k][0], ai = search->own[k][1];
            double br = search->bins[b][k][0], bi = search->bins[b][k][1];
            search->sum[k][0] += ar * br + ai * bi;
            search->sum[k][1] += ar * bi - ai * br;
        }
    }
    dw_cross_correlate(search->cross, (const double(*)[2])search->sum, search->correlation);
}

// Where a stretch stands in the second, by the ratios of numbers LOW to HIGH; *NUMBER: that of the best.
static Stretch find_stretch(Search *search, const DwTwinFeatures *one, const DwTwinFeatures *two, size_t from,
                            size_t count, int low, int high, int *number)
{
    Stretch found = {.at_s = one->first_s + (double)from * one->step_s};
    for (int r = low; r <= high; r++) {
        // The features of the two may have slightly different steps.
        double ratio = 1 + RATIO_STEP * (r - RATIOS / 2);
        correlate(search, one, from, count, ratio * one->step_s / two->step_s);
        double squares = 1e-30, best = 0;
        size_t at = 0;
        for (size_t n = 0; n < two->count; n++) {
            squares += search->correlation[n] * search->correlation[n];
            if (search->correlation[n] > best) {
                best = search->correlation[n];
                at = n;
            }
        }
        double strength = best / sqrt(squares / (double)two->count);
        if (strength > found.strength) {
            found.strength = strength;
            found.ratio = ratio;
            found.other_s = two->first_s + (double)at * two->step_s;
            *number = r;
        }
    }
    return found;
}

// How many stretches lie on the line through BASE with RATIO, by their strength.
static double support(const Stretch *stretch, size_t count, const Stretch *base, double ratio)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        double off = stretch[i].other_s - base->other_s - ratio * (stretch[i].at_s - base->at_s);
        if (fabs(off) < AGREE_S && stretch[i].strength > STRONG / 2)
            sum += stretch[i].strength;
    }
    return sum;
}

// The straight line that most stretches agree on. Returned: whether there is one.
static bool agree(const Stretch *stretch, size_t count, Stretch *line)
{
    double best = 0;
    for (size_t i = 0; i < count; i++) {
        if (stretch[i].strength < STRONG)
            continue;
        double alone = support(stretch, count, &stretch[i], stretch[i].ratio);
        if (alone > best) {
            best = alone;
            *line = stretch[i];
        }
        for (size_t k = 0; k < count; k++) {
            double ratio = k == i ? 0 : (stretch[k].other_s - stretch[i].other_s) / (stretch[k].at_s - stretch[i].at_s);
            // A line through two is theirs only where each alone tells nearly the same speed.
            if (k == i || fabs(ratio - stretch[i].ratio) > 1.5 * RATIO_STEP)
                continue;
            double both = support(stretch, count, &stretch[i], ratio);
            if (both > best) {
                best = both;
                *line = stretch[i];
                line->ratio = ratio;
            }
        }
    }
    return best > 0;
}

static bool find_line(const DwTwinFeatures *one, const DwTwinFeatures *two, Stretch *line)
{
    size_t count = (size_t)(STRETCH_S / one->step_s);
    count = count < one->count / 2 ? count : one->count / 2;
    if (count < 40 || two->count < 80)
        return false;
    size_t stretches = one->count / count;
    stretches = stretches < 3 ? 3 : stretches > STRETCHES_MOST ? (size_t)STRETCHES_MOST : stretches;
    Stretch stretch[STRETCHES_MOST];
    Search search = begin_search(two, (size_t)(1.2 * (double)count));
    int known = -1, number = 0; // the first that is clear tells the others near which ratio to look
    for (size_t i = 0; i < stretches; i++) {
        size_t from = (one->count - count) * i / (stretches - 1);
        int low = known < NEAR ? 0 : known - NEAR, high = known + NEAR < RATIOS ? known + NEAR : RATIOS - 1;
        if (known >= 0)
            stretch[i] = find_stretch(&search, one, two, from, count, low, high, &number);
        if (known < 0 || stretch[i].strength < STRONG)
            stretch[i] = find_stretch(&search, one, two, from, count, 0, RATIOS - 1, &number);
        if (known < 0 && stretch[i].strength > CLEAR)
            known = number;
    }
    end_search(&search);
    return agree(stretch, stretches, line);
}

// --- from second to second ---------------------------------------------------------

// Likenesses of all places with all offsets from the line, and the way back from each. Places are PITCH values of the
// first apart; offsets go by one value of the second, drawn out as the line says, and are a whole number of lanes.
typedef struct {
    size_t places, offsets, pitch;
    float *score;
    int *from;
    float *like;
    double step_s; // from offset to offset, in the second
} Grid;

// Values of all bands, with AHEAD zeros in front and behind, and the squares' sum up to each.
typedef struct {
    float *band[DW_TWIN_BANDS];
    double *squares;
    size_t ahead, count;
} Rows;

static Rows new_rows(size_t ahead, size_t count)
{
    Rows rows = {.ahead = ahead, .count = count + 2 * ahead};
    for (size_t b = 0; b < DW_TWIN_BANDS; b++)
        rows.band[b] = dw_memory_new(rows.count, sizeof(float));
    rows.squares = dw_memory_new(rows.count + 1, sizeof(double));
    return rows;
}

static void free_rows(Rows *rows)
{
    for (size_t b = 0; b < DW_TWIN_BANDS; b++)
        free(rows->band[b]);
    free(rows->squares);
}

// COUNT values of FEATURES from FROM on, in steps of STEP.
static Rows draw_rows(const DwTwinFeatures *features, double from, double step, size_t ahead, size_t count)
{
    Rows rows = new_rows(ahead, count);
    for (size_t n = 0; n < rows.count; n++) {
        double sum = 0, at = from + ((double)n - (double)ahead) * step;
        for (size_t b = 0; b < DW_TWIN_BANDS; b++) {
            float value = (float)dw_twin_features_at(features, b, at);
            rows.band[b][n] = value;
            sum += value * value;
        }
        rows.squares[n + 1] = rows.squares[n] + sum;
    }
    return rows;
}

// Adds to SUMS, side by side, COUNT values of ONE times those of TWO that begin so many later.
DW_WIDE static void add_products(const float *restrict one, const float *restrict two, size_t count,
                                 float *restrict sums)
{
    float lanes[LANES];
    for (size_t i = 0; i < LANES; i++)
        lanes[i] = sums[i];
    for (size_t k = 0; k < count; k++)
        for (size_t i = 0; i < LANES; i++)
            lanes[i] += one[k] * two[k + i];
    for (size_t i = 0; i < LANES; i++)
        sums[i] = lanes[i];
}

// How alike the surroundings of a place of ONE are to those of TWO, at all offsets.
static void fill_place(const Rows *one, const Rows *two, size_t place, size_t around, size_t offsets, float *like)
{
    size_t count = 2 * around + 1, begin = one->ahead + place - around;
    size_t other = two->ahead + place - around - offsets / 2;
    double first = one->squares[begin + count] - one->squares[begin] + 1e-9;
    for (size_t o = 0; o < offsets; o += LANES) {
        float sums[LANES] = {0};
        for (size_t b = 0; b < DW_TWIN_BANDS; b++)
            add_products(one->band[b] + begin, two->band[b] + other + o, count, sums);
        for (size_t i = 0; i < LANES; i++) {
            double second = two->squares[other + o + i + count] - two->squares[other + o + i] + 1e-9;
            like[o + i] = (float)(sums[i] / sqrt(first * second));
        }
    }
}

static void fill_likeness(Grid *grid, const DwTwinFeatures *one, const DwTwinFeatures *two, const Stretch *line)
{
    size_t around = (size_t)(AROUND_S / one->step_s), ahead = around + grid->offsets;
    double middle = (line->other_s + line->ratio * (one->first_s - line->at_s) - two->first_s) / two->step_s;
    double step = grid->step_s / two->step_s;
    Rows first = draw_rows(one, 0, 1, ahead, one->count), second = draw_rows(two, middle, step, ahead, one->count);
    for (size_t p = 0; p < grid->places; p++) {
        float *like = grid->like + p * grid->offsets;
        fill_place(&first, &second, p * grid->pitch, around, grid->offsets, like);
        for (size_t o = 0; o < grid->offsets; o++) {
            double other = middle + ((double)(p * grid->pitch + o) - (double)(grid->offsets / 2)) * step;
            if (other < 0 || other >= (double)two->count)
                like[o] = OUTSIDE;
        }
    }
    free_rows(&first);
    free_rows(&second);
}

// The best way through the grid: sums of likenesses less the price of moving.
static void go_through(Grid *grid)
{
    memcpy(grid->score, grid->like, grid->offsets * sizeof *grid->score);
    for (size_t p = 1; p < grid->places; p++) {
        const float *before = grid->score + (p - 1) * grid->offsets;
        size_t top = 0;
        for (size_t o = 0; o < grid->offsets; o++)
            top = before[o] > before[top] ? o : top;
        for (size_t o = 0; o < grid->offsets; o++) {
            double best = before[top] - JUMP_PRICE;
            int from = (int)top;
            for (int d = -2; d <= 2; d++) {
                int k = (int)o + d;
                if (k < 0 || k >= (int)grid->offsets || before[k] - abs(d) * STEP_PRICE <= best)
                    continue;
                best = before[k] - abs(d) * STEP_PRICE;
                from = k;
            }
            grid->score[p * grid->offsets + o] = (float)best + grid->like[p * grid->offsets + o];
            grid->from[p * grid->offsets + o] = from;
        }
    }
}

static void read_back(const Grid *grid, const DwTwinFeatures *one, const Stretch *line, DwTwinPath *path)
{
    path->place = dw_memory_new(grid->places, sizeof *path->place);
    path->count = grid->places;
    const float *last = grid->score + (grid->places - 1) * grid->offsets;
    size_t o = 0;
    for (size_t k = 0; k < grid->offsets; k++)
        o = last[k] > last[o] ? k : o;
    for (size_t p = grid->places; p-- > 0;) {
        double at_s = one->first_s + (double)(p * grid->pitch) * one->step_s;
        double middle_s = line->other_s + line->ratio * (at_s - line->at_s);
        size_t from = p ? (size_t)grid->from[p * grid->offsets + o] : o;
        path->place[p] = (DwTwinPlace){.at_s = at_s,
                                       .other_s = middle_s + ((double)o - (double)(grid->offsets / 2)) * grid->step_s,
                                       .likeness = grid->like[p * grid->offsets + o],
                                       .is_jump = from > o + 2 || o > from + 2};
        o = from;
    }
}

// Leaves out the places before and behind what both recordings hold.
static void cut_ends(DwTwinPath *path, double end_s)
{
    size_t kept = 0;
    double *sorted = dw_memory_new(path->count + 1, sizeof *sorted);
    for (size_t p = 0; p < path->count; p++)
        if (path->place[p].other_s > 0 && path->place[p].other_s < end_s) {
            sorted[kept] = path->place[p].likeness;
            path->place[kept++] = path->place[p];
        }
    path->count = kept;
    path->likeness = kept ? dw_statistics_middle(sorted, kept) : 0;
    free(sorted);
}

static void follow(const DwTwinFeatures *one, const DwTwinFeatures *two, const Stretch *line, DwTwinPath *path)
{
    Grid grid = {.pitch = (size_t)lround(PLACE_S / one->step_s), .step_s = line->ratio * one->step_s};
    grid.places = one->count / grid.pitch;
    grid.offsets = (size_t)(2 * REACH_S / grid.step_s) / LANES * LANES;
    if (grid.places == 0)
        return;
    size_t cells = grid.places * grid.offsets;
    grid.score = dw_memory_new(cells, sizeof *grid.score);
    grid.like = dw_memory_new(cells, sizeof *grid.like);
    grid.from = dw_memory_new(cells, sizeof *grid.from);
    fill_likeness(&grid, one, two, line);
    go_through(&grid);
    read_back(&grid, one, line, path);
    free(grid.score);
    free(grid.like);
    free(grid.from);
    path->ratio = line->ratio;
    cut_ends(path, two->first_s + (double)two->count * two->step_s);
}

DwTwinPath dw_twin_path_find(const DwTwinSound *one, const DwTwinSound *two)
{
    DwTwinPath path = {0};
    DwTwinFeatures first = dw_twin_features_of(one), second = dw_twin_features_of(two);
    Stretch line = {0};
    if (find_line(&first, &second, &line))
        follow(&first, &second, &line, &path);
    dw_twin_features_clear(&first);
    dw_twin_features_clear(&second);
    if (path.likeness < LEAST_LIKENESS)
        dw_twin_path_clear(&path);
    return path;
}

void dw_twin_path_clear(DwTwinPath *path)
{
    free(path->place);
    *path = (DwTwinPath){0};
}
