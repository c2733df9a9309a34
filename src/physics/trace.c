// SPDX-License-Identifier: MIT
#include "physics/trace.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

// A harmonic of a part: what might be behind a line.
typedef struct {
    DwPart part;
    unsigned harmonic;
    double rate_hz; // of the harmonic
    double error_hz;
    double weight; // how readily a part shows this harmonic, before the line is seen
    double score;  // probability density at the line, times the weight
} Candidate;

enum { HARMONICS_MOST = 8, CANDIDATES_MOST = HARMONICS_MOST * DW_PART_COUNT };

// Prior of "no part of the drive", and of each part; they need not add up to one.
static const double unknown_weight = 0.3, part_weight = 0.1;
static const double octaves_low_hz = 0.1, octaves_high_hz = 200;
// A suspect stays named while it is not this many times less likely than the first.
static const double rival_ratio = 0.2;
// No rate and no line is known better than this, whatever is stated.
static const double error_least_hz = 1e-5;
// Frequencies nearer than this, relatively, are one.
static const double coincidence = 1e-6;

static unsigned harmonics_of(DwPart part)
{
    switch (part) {
    case DW_PART_PLATTER:
    case DW_PART_RECORD:
        return HARMONICS_MOST;
    case DW_PART_BELT:
    case DW_PART_MOTOR:
    case DW_PART_IDLER:
        return 6;
    case DW_PART_POLE:
    case DW_PART_MAINS:
        return 4;
    case DW_PART_UNKNOWN:
    case DW_PART_COUNT:
        break;
    }
    return 0;
}

static double harmonic_weight(DwPart part, unsigned harmonic)
{
    // A motor's magnetic pull comes twice a cycle; the mains itself only when a
    // winding or a supply is at fault.
    if (part == DW_PART_MAINS && harmonic <= 2)
        return harmonic == 2 ? 1 : 0.3;
    return 1.0 / (harmonic * harmonic);
}

double dw_trace_seconds(double rate_1_hz, double rate_2_hz)
{
    double apart = fabs(rate_1_hz - rate_2_hz);
    return apart <= coincidence * rate_1_hz ? INFINITY : 1 / apart;
}

static bool are_twins(DwPart a, DwPart b)
{
    return a == b || (a <= DW_PART_RECORD && b <= DW_PART_RECORD);
}

// Whether POLE is the pole rate of a motor locked to the mains: its pull at twice
// the mains and its poles passing are then one and the same thing.
static bool is_mains_again(const DwRate *pole, const DwRate *rates, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (pole->part == DW_PART_POLE && rates[i].part == DW_PART_MAINS &&
            isinf(dw_trace_seconds(pole->rate_hz, 2 * rates[i].rate_hz)))
            return true;
    return false;
}

static size_t list_candidates(const DwRate *rates, size_t rate_count, Candidate *candidates)
{
    size_t count = 0;
    for (size_t i = 0; i < rate_count; i++) {
        if (is_mains_again(&rates[i], rates, rate_count))
            continue;
        for (unsigned h = 1; h <= harmonics_of(rates[i].part); h++)
            candidates[count++] = (Candidate){rates[i].part,
                                              h,
                                              h * rates[i].rate_hz,
                                              h * rates[i].uncertainty_hz,
                                              part_weight * harmonic_weight(rates[i].part, h),
                                              0};
    }
    return count;
}

// Whether another part turns within 1/T of CANDIDATE, so that their lines blend.
static bool may_blend(const Candidate *candidate, const Candidate *all, size_t count, double seconds)
{
    for (size_t i = 0; i < count; i++)
        if (!are_twins(all[i].part, candidate->part) && dw_trace_seconds(all[i].rate_hz, candidate->rate_hz) > seconds)
            return true;
    return false;
}

// How much lower harmonics support one of AMPLITUDE: the strongest of them over it,
// squared, at most 1. Twice a turn needs none: a saddle-shaped warp has no first.
static double support(const Candidate *candidate, const DwTraceLine *lines, size_t count, const DwTraceLine *line)
{
    double base = candidate->rate_hz / candidate->harmonic;
    double base_error = candidate->error_hz / candidate->harmonic;
    if (candidate->harmonic <= 2 || candidate->part == DW_PART_MAINS)
        return 1;
    double strongest = 0;
    for (unsigned h = 1; h < candidate->harmonic; h++)
        for (size_t i = 0; i < count; i++)
            if (fabs(lines[i].frequency_hz - h * base) < 3 * hypot(lines[i].uncertainty_hz, h * base_error))
                strongest = fmax(strongest, lines[i].amplitude);
    double ratio = fmin(1, strongest / line->amplitude);
    return fmax(0.02, ratio * ratio);
}

static double normal_density(double distance, double deviation)
{
    double z = distance / deviation;
    return exp(-z * z / 2) / (deviation * sqrt(2 * M_PI));
}

// The best harmonic of each part, scored at LINE; returns the sum of all scores.
static double score_parts(const DwTraceLine *lines, size_t count, const DwTraceLine *line, double seconds,
                          Candidate *candidates, size_t candidate_count, Candidate best[DW_PART_COUNT])
{
    double sum = 0;
    memset(best, 0, DW_PART_COUNT * sizeof *best);
    for (size_t i = 0; i < candidate_count; i++) {
        Candidate *candidate = &candidates[i];
        double error = fmax(error_least_hz, hypot(line->uncertainty_hz, candidate->error_hz));
        if (may_blend(candidate, candidates, candidate_count, seconds))
            error = hypot(error, 0.5 / seconds);
        candidate->score = candidate->weight * support(candidate, lines, count, line) *
                           normal_density(line->frequency_hz - candidate->rate_hz, error);
        sum += candidate->score;
        if (candidate->score > best[candidate->part].score)
            best[candidate->part] = *candidate;
    }
    best[DW_PART_UNKNOWN] = (Candidate){.part = DW_PART_UNKNOWN};
    best[DW_PART_UNKNOWN].score = unknown_weight / (line->frequency_hz * log(octaves_high_hz / octaves_low_hz));
    return sum + best[DW_PART_UNKNOWN].score;
}

static void add_suspect(DwTraceFinding *finding, const Candidate *candidate, double sum)
{
    double confidence = candidate->score / sum;
    finding->suspects[finding->suspect_count++] = (DwTraceSuspect){candidate->part, candidate->harmonic, confidence};
    finding->confidence += confidence;
}

static void name_suspects(const Candidate best[DW_PART_COUNT], double sum, DwTraceFinding *finding)
{
    bool named[DW_PART_COUNT] = {false};
    double first = 0;
    for (;;) {
        size_t next = DW_PART_COUNT;
        for (size_t i = 0; i < DW_PART_COUNT; i++)
            if (!named[i] && best[i].score > 0 && (next == DW_PART_COUNT || best[i].score > best[next].score))
                next = i;
        if (next == DW_PART_COUNT || best[next].score < rival_ratio * first)
            return;
        // "Or no part at all" names nobody; it only lowers the confidence.
        named[next] = true;
        if (next == DW_PART_UNKNOWN && finding->suspect_count > 0)
            continue;
        first = fmax(first, best[next].score);
        add_suspect(finding, &best[next], sum);
        if (next == DW_PART_UNKNOWN)
            return;
    }
}

void dw_trace_lines(const DwTraceLine *lines, size_t count, const DwRate *rates, size_t rate_count, double seconds,
                    double power, DwTraceFinding *findings)
{
    assert(rate_count <= DW_PART_COUNT && seconds > 0);
    Candidate candidates[CANDIDATES_MOST];
    size_t candidate_count = list_candidates(rates, rate_count, candidates);
    double lines_power = 0;
    for (size_t i = 0; i < count; i++)
        lines_power += lines[i].amplitude * lines[i].amplitude / 2;
    for (size_t i = 0; i < count; i++) {
        Candidate best[DW_PART_COUNT];
        double sum = score_parts(lines, count, &lines[i], seconds, candidates, candidate_count, best);
        findings[i] = (DwTraceFinding){0};
        findings[i].share = 100 * lines[i].amplitude * lines[i].amplitude / 2 / (isnan(power) ? lines_power : power);
        name_suspects(best, sum, &findings[i]);
    }
}

static double rate_of(DwPart part, const DwRate *rates, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (rates[i].part == part)
            return rates[i].rate_hz;
    return NAN;
}

// A growing list of pairs that takes each only once.
typedef struct {
    const DwRate *rates;
    size_t rate_count;
    double seconds; // recorded
    DwTracePair *pairs;
    size_t count, room;
} PairList;

static void add_pair(PairList *list, DwPart a, unsigned a_harmonic, DwPart b, unsigned b_harmonic)
{
    double seconds = dw_trace_seconds(a_harmonic * rate_of(a, list->rates, list->rate_count),
                                      b_harmonic * rate_of(b, list->rates, list->rate_count));
    // The record stands beside the platter; naming the platter is enough.
    if (are_twins(a, b) || a == DW_PART_RECORD || b == DW_PART_RECORD || !(seconds > list->seconds))
        return;
    if (a > b) {
        add_pair(list, b, b_harmonic, a, a_harmonic);
        return;
    }
    for (size_t i = 0; i < list->count; i++)
        if (list->pairs[i].parts[0] == a && list->pairs[i].parts[1] == b)
            return;
    if (list->count < list->room)
        list->pairs[list->count++] = (DwTracePair){{a, b}, {a_harmonic, b_harmonic}, seconds};
}

size_t dw_trace_pairs(const DwTraceFinding *findings, size_t finding_count, const DwRate *rates, size_t rate_count,
                      double seconds, DwTracePair *pairs, size_t room)
{
    PairList list = {rates, rate_count, seconds, pairs, 0, room};
    for (size_t i = 0; i < rate_count; i++)
        for (size_t j = i + 1; j < rate_count; j++)
            add_pair(&list, rates[i].part, 1, rates[j].part, 1);
    for (size_t i = 0; i < finding_count; i++)
        for (size_t a = 0; a < findings[i].suspect_count; a++)
            for (size_t b = a + 1; b < findings[i].suspect_count; b++)
                add_pair(&list, findings[i].suspects[a].part, findings[i].suspects[a].harmonic,
                         findings[i].suspects[b].part, findings[i].suspects[b].harmonic);
    return list.count;
}

const char *dw_trace_words(const DwTraceFinding *finding, char *buffer, size_t size)
{
    size_t used = 0;
    buffer[0] = 0;
    for (size_t i = 0; i < finding->suspect_count && used < size; i++)
        used += (size_t)snprintf(buffer + used, size - used, "%s%s", i ? " or " : "",
                                 dw_part_word(finding->suspects[i].part));
    return buffer;
}
