// SPDX-License-Identifier: MIT
#include "measure/side/side_align.h"

#include "base/memory.h"
#include "measure/band/channel_gain.h"
#include "measure/side/side_level.h"
#include "measure/side/side_order.h"

#include <math.h>
#include <stdlib.h>

enum { RATIOS_MOST = 4, PLACES_MOST = 2, SEGMENTS_MOST = 600, VOTE_BINS = 600, NEIGHBOURS = 3 };

static const double OTHER_SPEED = 1.35; // 45 over 33⅓
static const double MOST_ERROR = 0.065; // of ln of the speed ratio
static const double VOTE_STEP = 0.002;  // of ln of the speed ratio
static const double SURE = 0.7;         // a match out of order must be this good
static const double SHORT_SHARE = 0.85, LONG_SHARE = 1.1;
static const double NOT_AS_CUT = 0.01; // what another wiring must gain a band
static const double SILENCE_COVER = 0.5;
static const double SAME_TONE = 0.006, ONE_SIDED_DB = 6;
static const double GAIN_COUNTS_DB = 5; // a gain nearer to 0 leaves the channels as they were told
static const double PLACE_STEP_S = 4;
static const DwSideBand NOT_FOUND = {.verdict = DW_SIDE_MISSING, .start_s = NAN, .end_s = NAN};
static const double TOUCH_S = 0.3, FAR_S = 20; // of silence and the bands about it

bool dw_side_is_short(double share)
{
    return share < SHORT_SHARE;
}

const char *dw_side_verdict_word(DwSideVerdict verdict)
{
    static const char *const words[] = {"found",         "cut short", "too long", "out of order",
                                        "other channel", "missing",   "unusable"};
    return words[verdict];
}

const char *dw_side_wiring_word(DwSideWiring wiring)
{
    static const char *const words[] = {"as cut",     "swapped",     "one reversed", "swapped and one reversed",
                                        "left alone", "right alone", "joined",       "open ground"};
    return words[wiring];
}

// The stretches that are no silence, and the bands that are none.
typedef struct {
    const DwSideSegment *all;
    DwSideSegment segments[SEGMENTS_MOST];
    size_t number[SEGMENTS_MOST]; // among all
    size_t count;
    const DwBandPlan *plan;
    DwSideOrder *order;
} Aligning;

static bool is_silent(const DwBandPlanBand *band)
{
    return band->kind == DW_PLAN_SILENCE;
}

static double tone_of(const DwSideSegment *segment)
{
    return segment->kind == DW_PLAN_TWO_TONE ? segment->from_hz : segment->frequency_hz;
}

static double tone_of_band(const DwBandPlanBand *band)
{
    return band->broken ? NAN : band->kind == DW_PLAN_TWO_TONE ? band->from_hz : band->frequency_hz;
}

// --- likely speeds and places ----------------------------------------------------------

static bool is_likely(double octave)
{
    double other = log(OTHER_SPEED);
    return fabs(octave) < MOST_ERROR || fabs(octave - other) < MOST_ERROR || fabs(octave + other) < MOST_ERROR;
}

// Each pair of a stretch and a band of one tone votes for the ratio of their
// frequencies, by the seconds they share. Returned: the most voted ratios.
static size_t likely_ratios(const Aligning *work, double ratios[RATIOS_MOST])
{
    double *votes = dw_memory_new(VOTE_BINS + 2, sizeof *votes);
    for (size_t i = 0; i < work->count; i++)
        for (size_t j = 0; j < work->plan->count; j++) {
            double octave = log(tone_of(&work->segments[i]) / tone_of_band(&work->plan->bands[j]));
            if (isnan(octave) || !is_likely(octave))
                continue;
            double length_s = fmin(work->segments[i].end_s - work->segments[i].start_s, work->plan->bands[j].length_s);
            size_t bin = (size_t)lround(octave / VOTE_STEP + VOTE_BINS / 2.0);
            for (size_t k = bin - 1; k <= bin + 1; k++) // the middle counts most
                votes[k] += (k == bin ? 1 : 0.5) * fmin(length_s, 20) * exp(-fabs(octave));
        }
    size_t count = 0;
    while (count < RATIOS_MOST) {
        size_t best = 0;
        for (size_t k = 0; k < VOTE_BINS + 2; k++)
            if (votes[k] > votes[best])
                best = k;
        if (!(votes[best] > 0))
            break;
        ratios[count++] = exp(((double)best - VOTE_BINS / 2.0) * VOTE_STEP);
        for (size_t k = best > 3 ? best - 3 : 0; k <= best + 3 && k < VOTE_BINS + 2; k++)
            votes[k] = 0;
    }
    free(votes);
    if (count == 0)
        ratios[count++] = 1;
    return count;
}

// Where the side's first groove would lie: the places that most pairs that fit agree on, none near another.
static size_t likely_offsets(const Aligning *work, DwSideGuess guess, double offsets[PLACES_MOST])
{
    guess.offset_s = NAN;
    size_t pairs = 0, room = 0, count = 0;
    double *places = NULL, *weights = NULL;
    for (size_t i = 0; i < work->count; i++)
        for (size_t j = 0; j < work->plan->count; j++) {
            double weight =
                is_silent(&work->plan->bands[j]) ? 0 : dw_side_match(&guess, &work->segments[i], 1, work->plan, j);
            if (!(weight > 0.5))
                continue;
            if (pairs == room) {
                room = room * 2 + 64;
                places = dw_memory_resize(places, room, sizeof *places);
                weights = dw_memory_resize(weights, room, sizeof *weights);
            }
            places[pairs] = work->segments[i].start_s - dw_band_plan_start_s(work->plan, j) / guess.ratio;
            weights[pairs++] = weight;
        }
    for (; count < PLACES_MOST; count++) {
        double most = 0;
        for (size_t i = 0; i < pairs && i < 400; i++) {
            double sum = 0;
            for (size_t k = 0; k < pairs; k++)
                sum += weights[k] * exp(-fabs(places[k] - places[i]) / PLACE_STEP_S);
            for (size_t k = 0; k < count; k++)
                sum = fabs(places[i] - offsets[k]) < PLACE_STEP_S ? 0 : sum;
            if (sum > most) {
                most = sum;
                offsets[count] = places[i];
            }
        }
        if (!(most > 0))
            break;
    }
    free(places);
    free(weights);
    if (count == 0)
        offsets[count++] = NAN;
    return count;
}

// --- the best assignment under one guess ------------------------------------------------

static void take_band(const Aligning *work, DwSideAlignment *alignment, size_t band, size_t first, size_t count)
{
    DwSideBand *found = &alignment->bands[band];
    found->first = work->number[first];
    found->count = work->number[first + count - 1] - work->number[first] + 1;
    found->start_s = work->segments[first].start_s;
    found->end_s = work->segments[first + count - 1].end_s;
    found->verdict = DW_SIDE_FOUND;
    for (size_t i = 0; i < count; i++)
        alignment->used[work->number[first + i]] = true;
}

// Takes the bands of the order found last.
static void take_bands(const Aligning *work, DwSideAlignment *alignment)
{
    DwSideTaken *taken = dw_memory_new(work->plan->count + 1, sizeof *taken);
    size_t count = dw_side_order_taken(work->order, taken);
    for (size_t i = 0; i < count; i++)
        take_band(work, alignment, taken[i].band, taken[i].first, taken[i].count);
    free(taken);
}

// What the order found last gains by stretches that it takes for a band of other channels while they are rather another
// band, which it takes as well, played again.
static double taken_twice(const Aligning *work, DwSideGuess guess)
{
    DwSideTaken *taken = dw_memory_new(work->plan->count + 1, sizeof *taken);
    size_t count = dw_side_order_taken(work->order, taken);
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        const DwSideSegment *segment = &work->segments[taken[i].first];
        bool again = false;
        guess.offset_s = NAN;
        for (size_t k = 0; k < count && !dw_side_match_channel(&guess, segment, &work->plan->bands[taken[i].band]); k++)
            again = again || (k != i && dw_side_match_channel(&guess, segment, &work->plan->bands[taken[k].band]) &&
                              dw_side_match(&guess, segment, 1, work->plan, taken[k].band) > SURE);
        sum += again ? dw_side_match(&guess, segment, taken[i].count, work->plan, taken[i].band) : 0;
    }
    free(taken);
    return sum;
}

// Tries every guess. Returned: the best.
static DwSideGuess best_guess(Aligning *work, bool mono, double *score_of_best)
{
    double ratios[RATIOS_MOST], best_score = -1;
    size_t ratio_count = likely_ratios(work, ratios);
    DwSideGuess best = {.ratio = 1, .offset_s = NAN, .mono = mono, .level_db = NAN};
    for (size_t r = 0; r < ratio_count; r++)
        for (int wiring = 0; wiring < (mono ? 1 : DW_SIDE_WIRINGS); wiring++) {
            DwSideGuess guess = {ratios[r], NAN, (DwSideWiring)wiring, mono, NAN};
            if (wiring > DW_SIDE_SWAPPED_REVERSED)
                guess.level_db = dw_side_likely_level_db(work->segments, work->count, work->plan, guess);
            double offsets[PLACES_MOST];
            size_t places = likely_offsets(work, guess, offsets);
            for (size_t p = 0; p < places; p++) {
                guess.offset_s = offsets[p];
                double score = dw_side_order_find(work->order, &guess) - taken_twice(work, guess);
                // Another wiring explains much; it must do so better than a doubt here and there.
                score -= wiring ? NOT_AS_CUT * (double)work->plan->count + 0.3 : 0;
                if (score > best_score) {
                    best_score = score;
                    best = guess;
                }
            }
        }
    *score_of_best = best_score;
    return best;
}

// --- after the order ------------------------------------------------------------------

// Whether stretch I would do as well for the band that the nearest one used was taken for, which was then played twice.
static bool is_again(const Aligning *work, const DwSideGuess *guess, const DwSideAlignment *alignment, size_t i,
                     double match)
{
    size_t before = i, after = i;
    while (before > 0 && !alignment->used[work->number[before]])
        before--;
    while (after + 1 < work->count && !alignment->used[work->number[after]])
        after++;
    for (size_t j = 0; j < alignment->count; j++) {
        const DwSideBand *band = &alignment->bands[j];
        size_t last = band->first + band->count;
        bool is_next = (work->number[before] >= band->first && work->number[before] < last) ||
                       (work->number[after] >= band->first && work->number[after] < last);
        if (is_next && dw_side_match(guess, &work->segments[i], 1, work->plan, j) >= match)
            return true;
    }
    return false;
}

// Bands still missing may stand elsewhere: each takes the best of what is left over.
static void find_out_of_order(const Aligning *work, DwSideGuess guess, DwSideAlignment *alignment)
{
    guess.offset_s = NAN;
    for (;;) {
        double best = SURE;
        size_t band = 0, segment = 0;
        for (size_t j = 0; j < alignment->count; j++)
            for (size_t i = 0; i < work->count && alignment->bands[j].verdict == DW_SIDE_MISSING; i++) {
                if (alignment->used[work->number[i]] || is_silent(&work->plan->bands[j]))
                    continue;
                double match = dw_side_match(&guess, &work->segments[i], 1, work->plan, j);
                if (match > best && !is_again(work, &guess, alignment, i, match)) {
                    best = match;
                    band = j;
                    segment = i;
                }
            }
        if (!(best > SURE))
            return;
        take_band(work, alignment, band, segment, 1);
        alignment->bands[band].verdict = DW_SIDE_OUT_OF_ORDER;
    }
}

// The median of the ratios of the tones found, by their lengths.
static double refine_ratio(const Aligning *work, const DwSideAlignment *alignment)
{
    double octave[SEGMENTS_MOST], weight[SEGMENTS_MOST], all = 0;
    size_t count = 0;
    for (size_t j = 0; j < alignment->count && count < SEGMENTS_MOST; j++) {
        const DwSideBand *band = &alignment->bands[j];
        double hz = tone_of_band(&work->plan->bands[j]);
        if (band->verdict >= DW_SIDE_MISSING || isnan(hz))
            continue;
        double found = log(tone_of(&work->all[band->first]) / hz), length_s = band->end_s - band->start_s;
        size_t at = count++;
        for (; at > 0 && octave[at - 1] > found; at--) {
            octave[at] = octave[at - 1];
            weight[at] = weight[at - 1];
        }
        octave[at] = found;
        weight[at] = length_s * hz; // a low tone's frequency is read less well
        all += weight[at];
    }
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        sum += weight[i];
        if (sum >= all / 2)
            return exp(octave[i]);
    }
    return NAN;
}

static bool is_placed(const DwSideBand *band)
{
    return band->verdict != DW_SIDE_OUT_OF_ORDER && band->verdict < DW_SIDE_MISSING;
}

// What is known of where the silent band at INDEX lies: the end of the band
// before it and the start of the one after, and how far off these the plan puts it.
typedef struct {
    double before_s, after_s;             // NAN where nothing stands there
    double from_before_s, before_after_s; // seconds from before_s on, and from its own start to after_s
} Neighbours;

static Neighbours neighbours_of(const DwBandPlan *plan, const DwSideAlignment *alignment, size_t index, double ratio)
{
    Neighbours about = {NAN, NAN, 0, 0};
    double own_s = dw_band_plan_start_s(plan, index);
    for (size_t k = 1; k <= NEIGHBOURS; k++) {
        if (isnan(about.before_s) && index >= k && is_placed(&alignment->bands[index - k])) {
            double end_s = dw_band_plan_start_s(plan, index - k) + plan->bands[index - k].length_s;
            about.before_s = alignment->bands[index - k].end_s;
            about.from_before_s = (own_s - end_s) / ratio;
        }
        if (isnan(about.after_s) && index + k < plan->count && is_placed(&alignment->bands[index + k])) {
            about.after_s = alignment->bands[index + k].start_s;
            about.before_after_s = (dw_band_plan_start_s(plan, index + k) - own_s) / ratio;
        }
    }
    return about;
}

// The start of a silent band of WANTED_S in the silence SEGMENT. The end of a gap and
// the start of a silent groove sound alike: the plan tells them apart, unless
// something unplanned (an announcement) stands between on both sides.
static double silence_start(const Neighbours *about, const DwSideSegment *segment, double wanted_s)
{
    if (fabs(segment->start_s - about->before_s) < TOUCH_S)
        return about->before_s + about->from_before_s;
    if (fabs(segment->end_s - about->after_s) < TOUCH_S)
        return about->after_s - about->before_after_s;
    return segment->start_s + fmax(0, (segment->end_s - segment->start_s - wanted_s) / 2);
}

static void find_silence(const Aligning *work, size_t segment_count, size_t index, double ratio,
                         DwSideAlignment *alignment)
{
    DwSideBand *found = &alignment->bands[index];
    double wanted_s = work->plan->bands[index].length_s / ratio, most = SILENCE_COVER * wanted_s;
    Neighbours about = neighbours_of(work->plan, alignment, index, ratio);
    if (isnan(about.before_s) && isnan(about.after_s))
        return;
    // The gap after the band before it, and its own, are none of it.
    double gap_s = index ? work->plan->bands[index - 1].gap_s / ratio : 0,
           own_gap_s = work->plan->bands[index].gap_s / ratio;
    double low_s = isnan(about.before_s) ? about.after_s - about.before_after_s - FAR_S : about.before_s + gap_s;
    double high_s =
        isnan(about.after_s) ? about.before_s + about.from_before_s + wanted_s + FAR_S : about.after_s - own_gap_s;
    for (size_t i = 0; i < segment_count; i++) {
        const DwSideSegment *segment = &work->all[i];
        double common = fmin(segment->end_s, high_s) - fmax(segment->start_s, low_s);
        if (segment->kind != DW_PLAN_SILENCE || !(common > most) || alignment->used[i])
            continue;
        most = common;
        double start_s = silence_start(&about, segment, wanted_s);
        *found = (DwSideBand){.first = i, .count = 1};
        found->start_s = fmax(start_s, segment->start_s);
        found->end_s = fmin(start_s + wanted_s, segment->end_s);
        found->verdict = dw_side_is_short((found->end_s - found->start_s) / wanted_s) ? DW_SIDE_SHORT : DW_SIDE_FOUND;
    }
    if (found->count)
        alignment->used[found->first] = true;
}

// The stretch of that number among all, its channel told with the gains made alike.
static const DwSideSegment *segment_at(const Aligning *work, size_t number)
{
    for (size_t i = 0; i < work->count; i++)
        if (work->number[i] == number)
            return &work->segments[i];
    return &work->all[number];
}

// Whether what was taken for the band at INDEX, in the wrong channel, is rather another band's that is played again.
static bool is_repeat(const Aligning *work, DwSideGuess guess, const DwSideAlignment *alignment, size_t index)
{
    const DwSideSegment *segment = segment_at(work, alignment->bands[index].first);
    guess.offset_s = NAN;
    for (size_t k = 0; k < alignment->count; k++)
        if (k != index && alignment->bands[k].verdict < DW_SIDE_MISSING &&
            dw_side_match_channel(&guess, segment, &work->plan->bands[k]) &&
            dw_side_match(&guess, segment, 1, work->plan, k) > SURE)
            return true;
    return false;
}

static void judge(const Aligning *work, const DwSideGuess *guess, DwSideAlignment *alignment)
{
    for (size_t j = 0; j < alignment->count; j++) {
        DwSideBand *band = &alignment->bands[j];
        const DwBandPlanBand *wanted = &work->plan->bands[j];
        if (band->verdict != DW_SIDE_FOUND || is_silent(wanted))
            continue;
        double share = (band->end_s - band->start_s) * guess->ratio / wanted->length_s;
        if (!dw_side_match_channel(guess, segment_at(work, band->first), wanted)) {
            if (is_repeat(work, *guess, alignment, j))
                *band = NOT_FOUND;
            else
                band->verdict = DW_SIDE_OTHER_CHANNEL;
        } else if (dw_side_is_short(share) && dw_side_match_is_lost(guess, wanted))
            *band = NOT_FOUND; // a piece of its leak does not place it
        else if (dw_side_is_short(share))
            band->verdict = DW_SIDE_SHORT;
        else if (share > LONG_SHARE)
            band->verdict = DW_SIDE_LONG;
    }
}

// --- one channel far weaker ------------------------------------------------------------

// Right's gain over left's as the tones show it, each held against others of its frequency.
static double gain_of(const Aligning *work)
{
    DwChannelLevels levels[SEGMENTS_MOST];
    for (size_t i = 0; i < work->count; i++) {
        size_t same = 0;
        for (size_t k = 0; k < work->count && dw_side_is_level(&work->segments[i]); k++)
            if (dw_side_is_level(&work->segments[k]) &&
                fabs(work->segments[k].frequency_hz / work->segments[i].frequency_hz - 1) < SAME_TONE)
                levels[same++] = (DwChannelLevels){{work->segments[k].level_db[0], work->segments[k].level_db[1]}};
        double gain = same > 1 ? dw_channel_gain_db(levels, same) : 0;
        if (fabs(gain) > GAIN_COUNTS_DB)
            return gain;
    }
    return 0;
}

// Tells the channel of each stretch again with both channels' gains made alike.
static void make_alike(Aligning *work, double gain_db)
{
    for (size_t i = 0; i < work->count; i++) {
        DwSideSegment *segment = &work->segments[i];
        double right_db = segment->level_db[1] - segment->level_db[0] - gain_db;
        segment->channel = right_db < -ONE_SIDED_DB   ? DW_PLAN_LEFT
                           : right_db > ONE_SIDED_DB  ? DW_PLAN_RIGHT
                           : segment->correlation < 0 ? DW_PLAN_VERTICAL
                                                      : DW_PLAN_LATERAL;
    }
}

// --- all of it -------------------------------------------------------------------------

static void begin(const DwSideSegment *segments, size_t count, const DwBandPlan *plan, Aligning *work,
                  DwSideAlignment *alignment)
{
    *alignment = (DwSideAlignment){
        .bands = dw_memory_new(plan->count + 1, sizeof(DwSideBand)),
        .count = plan->count,
        .used = dw_memory_new(count + 1, sizeof(bool)),
        .segment_count = count,
    };
    for (size_t j = 0; j < plan->count; j++) {
        alignment->bands[j] = NOT_FOUND;
        alignment->bands[j].verdict = plan->bands[j].broken ? DW_SIDE_UNUSABLE : DW_SIDE_MISSING;
    }
    work->all = segments;
    work->plan = plan;
    for (size_t i = 0; i < count && work->count < SEGMENTS_MOST; i++)
        if (segments[i].kind != DW_PLAN_SILENCE) {
            work->number[work->count] = i;
            work->segments[work->count++] = segments[i];
        }
    dw_side_compare_levels(work->segments, work->count);
    dw_side_tell_cut(work->segments, work->count);
    work->order = dw_side_order_new(work->segments, work->count, plan);
}

void dw_side_align(const DwSideSegment *segments, size_t count, const DwBandPlan *plan, bool mono,
                   DwSideAlignment *alignment)
{
    Aligning *work = dw_memory_new(1, sizeof *work);
    begin(segments, count, plan, work, alignment);
    alignment->gain_db = mono ? 0 : gain_of(work);
    if (alignment->gain_db != 0)
        make_alike(work, alignment->gain_db);
    DwSideGuess guess = best_guess(work, mono, &alignment->score);
    dw_side_order_find(work->order, &guess);
    take_bands(work, alignment);
    find_out_of_order(work, guess, alignment);
    alignment->speed_ratio = refine_ratio(work, alignment);
    alignment->wiring = guess.wiring;
    alignment->level_db = guess.level_db;
    if (!isnan(alignment->speed_ratio))
        guess.ratio = alignment->speed_ratio;
    judge(work, &guess, alignment);
    dw_side_order_tell_alike(work->order, guess, alignment);
    for (size_t j = 0; j < plan->count; j++)
        if (is_silent(&plan->bands[j]) && !plan->bands[j].broken)
            find_silence(work, count, j, guess.ratio, alignment);
    for (size_t j = 0; j < plan->count; j++)
        *(alignment->bands[j].verdict < DW_SIDE_MISSING ? &alignment->found : &alignment->missing) += 1;
    dw_side_order_free(work->order);
    free(work);
}

void dw_side_alignment_clear(DwSideAlignment *alignment)
{
    free(alignment->bands);
    free(alignment->used);
    *alignment = (DwSideAlignment){0};
}
