// SPDX-License-Identifier: MIT
#include "measure/side/side_order.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

static const double GAP_PENALTY = 0.06, GAP_OFF_S = 0.5; // between two bands otherwise than planned
static const double SKIP_PENALTY = 0.03;                 // for each band between them that was not played
static const double AGAIN_PENALTY = 0.03;                // for a band that was played twice
static const double BEGIN_PENALTY = 0.1;                 // to leave out what comes before the first band and would do
static const double FITS = 0.7;                          // a match this good would do
static const double ALIKE = 0.05;                        // less for all of a side tells nothing
enum { BACK_MOST = 5 };                                  // stretches and bands looked back over

struct DwSideOrder {
    const DwSideSegment *segments;
    size_t count;
    const DwBandPlan *plan;
    double *score;         // of the best assignment of the first i stretches to the first j bands
    double *taking;        // of the best one whose last stretch is i and whose last band is j
    unsigned char *pieces; // that band j takes there; 0: it does not
    unsigned char *back;   // stretches, times BACK_MOST, and bands from its first to the last ones before; 0: any
    bool *fits;            // whether stretch i would do for some band
};

DwSideOrder *dw_side_order_new(const DwSideSegment *segments, size_t count, const DwBandPlan *plan)
{
    DwSideOrder *order = dw_memory_new(1, sizeof *order);
    size_t cells = (count + 1) * (plan->count + 1);
    *order = (DwSideOrder){
        .segments = segments,
        .count = count,
        .plan = plan,
        .score = dw_memory_new(cells, sizeof *order->score),
        .taking = dw_memory_new(cells, sizeof *order->taking),
        .pieces = dw_memory_new(cells, sizeof *order->pieces),
        .back = dw_memory_new(cells, sizeof *order->back),
        .fits = dw_memory_new(count + 1, sizeof *order->fits),
    };
    return order;
}

void dw_side_order_free(DwSideOrder *order)
{
    if (!order)
        return;
    free(order->score);
    free(order->taking);
    free(order->pieces);
    free(order->back);
    free(order->fits);
    free(order);
}

static bool is_silent(const DwBandPlanBand *band)
{
    return band->kind == DW_PLAN_SILENCE;
}

// How far apart band FIRST ends and band NEXT begins where the bands between that are not in PLAYED were left out [s].
static double planned_gap(const DwSideOrder *order, const DwSideGuess *guess, size_t first, size_t next,
                          unsigned played)
{
    const DwBandPlanBand *bands = order->plan->bands;
    double gap_s = bands[first].gap_s;
    for (size_t j = first + 1; j < next; j++)
        if (played >> (j - first - 1) & 1)
            gap_s += bands[j].length_s + bands[j].gap_s;
    return gap_s / guess->ratio;
}

// How many bands between FIRST and NEXT that could be read are not in PLAYED.
static size_t skipped_between(const DwSideOrder *order, size_t first, size_t next, unsigned played)
{
    size_t count = 0;
    for (size_t j = first + 1; j < next; j++)
        count += !order->plan->bands[j].broken && !(played >> (j - first - 1) & 1);
    return count;
}

// What it costs that stretch AT begins band NEXT after stretch LAST ended band FIRST: nothing where the plan's gaps,
// with any of the bands between played unheard, put it there; little where they do once the first was played again.
static double gap_penalty(const DwSideOrder *order, const DwSideGuess *guess, size_t last, size_t first, size_t at,
                          size_t next)
{
    double gap_s = order->segments[at].start_s - order->segments[last].end_s;
    double again_s =
        order->segments[last].end_s - order->segments[last].start_s + order->plan->bands[first].gap_s / guess->ratio;
    double least = GAP_PENALTY;
    for (unsigned played = 0; played < 1u << (next - first - 1); played++) {
        double off_s = gap_s - planned_gap(order, guess, first, next, played),
               skipped = SKIP_PENALTY * (double)skipped_between(order, first, next, played);
        if (fabs(off_s) < GAP_OFF_S)
            least = fmin(least, skipped);
        else if (at > last + 1 && fabs(off_s - again_s) < GAP_OFF_S)
            least = fmin(least, skipped + AGAIN_PENALTY);
    }
    return least;
}

// What it costs to begin with stretch FIRST where one before it would do for some band.
static double begin_penalty(const DwSideOrder *order, size_t first)
{
    for (size_t i = 0; i < first; i++)
        if (order->fits[i])
            return BEGIN_PENALTY;
    return 0;
}

static void note_what_fits(DwSideOrder *order, DwSideGuess guess)
{
    guess.offset_s = NAN;
    for (size_t i = 0; i < order->count; i++) {
        order->fits[i] = false;
        for (size_t j = 0; j < order->plan->count && !order->fits[i]; j++)
            order->fits[i] = !is_silent(&order->plan->bands[j]) &&
                             dw_side_match(&guess, &order->segments[i], 1, order->plan, j) > FITS;
    }
}

// The best score with band J taking the M stretches up to I, less what those match, and what it follows on.
static double before_taking(const DwSideOrder *order, const DwSideGuess *guess, size_t i, size_t j, size_t m,
                            unsigned char *back)
{
    size_t row = order->plan->count + 1;
    double any = order->score[(i - m) * row + j - 1], best = any > 0 ? any - GAP_PENALTY : -begin_penalty(order, i - m);
    *back = 0;
    for (size_t di = 0; di < BACK_MOST && di < i - m; di++)
        for (size_t dj = 0; dj < BACK_MOST && dj + 1 < j; dj++) {
            size_t cell = (i - m - di) * row + j - 1 - dj;
            if (!order->pieces[cell] || order->taking[cell] <= best)
                continue;
            double score = order->taking[cell] - gap_penalty(order, guess, i - m - di - 1, j - dj - 2, i - m, j - 1);
            if (score > best) {
                best = score;
                *back = (unsigned char)(1 + di * BACK_MOST + dj);
            }
        }
    return best;
}

double dw_side_order_find(DwSideOrder *order, const DwSideGuess *guess)
{
    size_t bands = order->plan->count, row = bands + 1;
    note_what_fits(order, *guess);
    for (size_t i = 0; i <= order->count; i++)
        for (size_t j = 0; j <= bands; j++) {
            size_t cell = i * row + j;
            double taking = 0;
            order->pieces[cell] = 0;
            for (size_t m = 1; j && m <= i && m <= DW_SIDE_PIECES_MOST && !is_silent(&order->plan->bands[j - 1]); m++) {
                double match = dw_side_match(guess, &order->segments[i - m], m, order->plan, j - 1);
                unsigned char back = 0;
                double score = match > 0 ? match + before_taking(order, guess, i, j, m, &back) : 0;
                if (score > taking + 1e-9) {
                    taking = score;
                    order->pieces[cell] = (unsigned char)m;
                    order->back[cell] = back;
                }
            }
            order->taking[cell] = taking;
            order->score[cell] = i && j ? fmax(taking, fmax(order->score[cell - row], order->score[cell - 1])) : 0;
        }
    return order->score[order->count * row + bands];
}

size_t dw_side_order_taken(const DwSideOrder *order, DwSideTaken *taken)
{
    size_t row = order->plan->count + 1, i = order->count, j = order->plan->count, count = 0;
    bool takes = false; // the cell is one that the last band follows on
    while (i && j) {
        size_t cell = i * row + j, pieces = order->pieces[cell];
        if (pieces && (takes || order->taking[cell] >= fmax(order->score[cell - row], order->score[cell - 1]))) {
            size_t back = order->back[cell];
            taken[count++] = (DwSideTaken){j - 1, i - pieces, pieces};
            i -= pieces + (back ? (back - 1) / BACK_MOST : 0);
            j -= 1 + (back ? (back - 1) % BACK_MOST : 0);
            takes = back > 0;
        } else if (order->score[cell - row] >= order->score[cell - 1])
            i--;
        else
            j--;
    }
    return count;
}

// What the best assignment under GUESS scores where none of the bands that ALIGNMENT misses was played but PLAYED, and
// that instead of TAKEN; as it is where both are the same band.
static double score_instead(const DwSideOrder *order, const DwSideGuess *guess, const DwSideAlignment *alignment,
                            size_t taken, size_t played)
{
    size_t count = order->plan->count;
    DwBandPlan plan = *order->plan;
    plan.bands = dw_memory_new(count + 1, sizeof *plan.bands);
    for (size_t i = 0; i < count; i++) {
        plan.bands[i] = order->plan->bands[i];
        if (i != played && (i == taken || alignment->bands[i].verdict == DW_SIDE_MISSING))
            plan.bands[i].broken = true;
    }
    DwSideOrder *instead = dw_side_order_new(order->segments, order->count, &plan);
    double score = dw_side_order_find(instead, guess);
    dw_side_order_free(instead);
    free(plan.bands);
    return score;
}

static bool may_sound_alike(const DwBandPlanBand *one, const DwBandPlanBand *other)
{
    return one->kind == other->kind && one->kind != DW_PLAN_SILENCE && !one->broken && !other->broken;
}

// Makes one group of those of ONE and OTHER.
static void join_alike(DwSideAlignment *alignment, size_t one, size_t other)
{
    size_t group = alignment->bands[one].alike ? alignment->bands[one].alike : one + 1,
           joined = alignment->bands[other].alike;
    for (size_t i = 0; i < alignment->count; i++)
        if (joined && alignment->bands[i].alike == joined)
            alignment->bands[i].alike = group;
    alignment->bands[one].alike = alignment->bands[other].alike = group;
}

void dw_side_order_tell_alike(const DwSideOrder *order, DwSideGuess guess, DwSideAlignment *alignment)
{
    guess.offset_s = NAN; // how far one is from the other is no reason for either
    for (size_t j = 0; j < alignment->count; j++) {
        const DwBandPlanBand *band = &order->plan->bands[j];
        if (alignment->bands[j].verdict != DW_SIDE_MISSING || dw_side_match_is_lost(&guess, band))
            continue;
        for (size_t k = j > BACK_MOST ? j - BACK_MOST : 0; k < alignment->count && k <= j + BACK_MOST; k++)
            if (alignment->bands[k].verdict < DW_SIDE_OUT_OF_ORDER && may_sound_alike(band, &order->plan->bands[k]) &&
                score_instead(order, &guess, alignment, k, j) > score_instead(order, &guess, alignment, k, k) - ALIKE)
                join_alike(alignment, j, k);
    }
}
