// SPDX-License-Identifier: MIT
#include "physics/trace_turns.h"

#include "base/memory.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// A harmonic of a part: what might be behind a line.
typedef struct {
    DwPart part;
    const char *what, *turn;
    unsigned harmonic; // of its row of the drive's rates
    double order;      // of the part's own rate
    double rate_hz;    // of the harmonic
    double error_hz;
    bool is_heard; // the part's turn was found by a row of lines
    double weight; // how readily a part shows this harmonic, before the line is seen
    double score;  // probability density at the line, times the weight
    double total;  // of a part's best candidate: the scores of all its candidates
} Candidate;

enum {
    HARMONICS_USUAL = 8,
    HARMONICS_MOST = DW_TRACE_HARMONICS_MOST,
    CANDIDATES_MOST = HARMONICS_MOST * DW_RATES_MOST,
    ROUNDS = 3,
    LOW_HARMONICS = 6,
    CROWD_WIDTHS = 6, // of what the recording parts, to either side
    CROWD = 4
};

// What is heard: COUNT lines in so many seconds, and what the round before made of them (NULL: nothing yet).
typedef struct {
    const DwTraceLine *lines;
    size_t count;
    const DwTraceFinding *before;
    double seconds;
} Scene;

// Prior of "no part of the drive", and of each part; they need not add up to one.
static const double unknown_weight = 0.3, part_weight = 0.1;
static const double octaves_low_hz = 0.1, octaves_high_hz = 200;
// A suspect stays named while it is not this many times less likely than the first.
static const double rival_ratio = 0.2;
// One that comes at the very same rate stays named longer.
static const double as_one_ratio = 0.02;
// No rate and no line is known better than this, whatever is stated.
static const double error_least_hz = DW_TRACE_ERROR_LEAST_HZ;
// Frequencies nearer than this, relatively, are one.
static const double coincidence = 1e-6;

// A line is surely a part's from this confidence on.
static const double sure = DW_TRACE_SURE;
// What keeps to the mains within this share is locked to it: the least slip is some percent.
static const double locked_share = 0.002;
// A harmonic that is known to this share of the part's rate is not taken for its neighbour.
static const double known_share = 0.03;
static const double weak_share = DW_TRACE_WEAK;
// How much readier a part that turns audibly is to show the rest of what it does.
static const double company = 3;
// One error in so many is larger than its spread tells, by so much: a slip of the caliper, a line bent by its noise.
static const double slip_share = 0.01, slip_times = 3;
// A part that does not run quite evenly shows beside its line as well, less strongly: how likely that is, how far off
// (of the rate) and how much weaker.
static const double skirt_share = 0.05, skirt_width = 0.02, skirt_weaker = 0.6;

static unsigned harmonics_of(const DwRate *rate)
{
    double doubt = fmax(rate->uncertainty_hz, error_least_hz);
    double followed = fmin(HARMONICS_MOST, fmax(LOW_HARMONICS, known_share * rate->rate_hz / doubt));
    if (rate->harmonics)
        return rate->harmonics;
    switch (rate->part) {
    case DW_PART_PLATTER:
    case DW_PART_RECORD:
        return (unsigned)fmax(HARMONICS_USUAL, followed);
    case DW_PART_BELT:
    case DW_PART_MOTOR:
    case DW_PART_IDLER:
        return (unsigned)followed;
    case DW_PART_POLE:
    case DW_PART_MAINS:
        return 4;
    case DW_PART_TACHO:
        return 2;
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

// Whether POLE is the pole rate of a motor locked to the mains, as nearly as both are known: its pull at twice
// the mains and its poles passing are then one and the same thing.
static bool is_mains_again(const DwRate *pole, const DwRate *rates, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (pole->part == DW_PART_POLE && !pole->what && rates[i].part == DW_PART_MAINS &&
            fabs(pole->rate_hz - 2 * rates[i].rate_hz) < 2 * locked_share * rates[i].rate_hz)
            return true;
    return false;
}

// Whether harmonic H of RATE, a high one, comes with the mains or its low multiples: those are the mains' then.
static bool is_mains_harmonic(const DwRate *rate, unsigned h, const DwRate *rates, size_t count)
{
    for (size_t i = 0; i < count; i++)
        for (unsigned m = 1; m <= 4 && rates[i].part == DW_PART_MAINS && h > 6; m++)
            if (rate->part == DW_PART_MOTOR &&
                fabs(h * rate->rate_hz - m * rates[i].rate_hz) < locked_share * m * rates[i].rate_hz)
                return true;
    return false;
}

static size_t list_candidates(const DwRate *rates, size_t rate_count, Candidate *candidates)
{
    size_t count = 0;
    for (size_t i = 0; i < rate_count; i++) {
        const DwRate *rate = &rates[i];
        double weight = part_weight * (rate->weight > 0 ? rate->weight : 1);
        double order = rate->order > 0 ? rate->order : 1;
        if (is_mains_again(rate, rates, rate_count))
            continue;
        for (unsigned h = 1; h <= harmonics_of(rate); h++) {
            if (is_mains_harmonic(rate, h, rates, rate_count))
                continue;
            candidates[count++] = (Candidate){rate->part,
                                              rate->what,
                                              rate->turn,
                                              h,
                                              h * order,
                                              h * rate->rate_hz,
                                              h * rate->uncertainty_hz,
                                              rate->is_heard,
                                              weight * harmonic_weight(rate->part, h),
                                              0,
                                              0};
        }
    }
    return count;
}

// How surely line I is a line of PART, by the round before; 1 while there was none.
static double belonging(const Scene *scene, size_t i, DwPart part)
{
    if (!scene->before)
        return 1;
    double sum = 0;
    for (size_t k = 0; k < scene->before[i].suspect_count; k++)
        if (are_twins(scene->before[i].suspects[k].part, part))
            sum += scene->before[i].suspects[k].confidence;
    return fmin(1, sum);
}

// How much lower harmonics support one of AMPLITUDE: the strongest of them over it,
// squared, at most 1. Twice a turn needs none, for a saddle-shaped warp has no first; nor does a warp in three waves,
// nor one of a row that was found as such.
static double support(const Candidate *candidate, const Scene *scene, const DwTraceLine *line)
{
    double base = candidate->rate_hz / candidate->harmonic;
    double base_error = candidate->error_hz / candidate->harmonic;
    bool may_warp = candidate->part <= DW_PART_RECORD && candidate->harmonic == 3;
    if (candidate->harmonic <= 2 || may_warp || candidate->is_heard || candidate->part == DW_PART_MAINS)
        return 1;
    double strongest = 0;
    bool shows = candidate->harmonic <= LOW_HARMONICS; // itself, or lower down: no part shows by high harmonics alone
    for (unsigned h = 1; h < candidate->harmonic; h++)
        for (size_t i = 0; i < scene->count; i++) {
            const DwTraceLine *lower = &scene->lines[i];
            if (fabs(lower->frequency_hz - h * base) >= 3 * hypot(lower->uncertainty_hz, h * base_error))
                continue;
            double own = belonging(scene, i, candidate->part);
            strongest = fmax(strongest, own * lower->amplitude);
            shows = shows || (h <= LOW_HARMONICS && own > 0.5);
        }
    if (!shows)
        return 0.001;
    double ratio = fmin(1, strongest / line->amplitude);
    return fmax(0.02, ratio * ratio);
}

// What the other lines make of CANDIDATE as an explanation of LINE: a high harmonic of a part that shows stronger lower
// ones is less of a surprise, and so is what a part does several times a turn where its own turn is there as well.
static double credit(const Candidate *candidate, const Scene *scene, const DwTraceLine *line)
{
    double supported = support(candidate, scene, line), turn = candidate->rate_hz / candidate->order;
    double turn_error = candidate->error_hz / candidate->order;
    if (candidate->part == DW_PART_MAINS)
        return supported;
    if (!candidate->what)
        return candidate->harmonic > 2 && supported >= 1 ? sqrt(candidate->harmonic) : supported;
    for (size_t i = 0; i < scene->count; i++)
        if (&scene->lines[i] != line &&
            fabs(scene->lines[i].frequency_hz - turn) < 2 * hypot(scene->lines[i].uncertainty_hz, turn_error))
            return company;
    return candidate->harmonic > 2 && supported >= 1 ? company : supported;
}

// Whether the lines of rates A and B, nearer than 1/T, were both found: a fit that holds both parts them.
static bool are_parted(const Scene *scene, double a_hz, double b_hz)
{
    double low = fmin(a_hz, b_hz), high = fmax(a_hz, b_hz), near = 0.5 / scene->seconds;
    for (size_t i = 0; i < scene->count; i++)
        for (size_t j = 0; j < scene->count; j++)
            if (scene->lines[i].frequency_hz < scene->lines[j].frequency_hz &&
                fabs(scene->lines[i].frequency_hz - low) < near && fabs(scene->lines[j].frequency_hz - high) < near)
                return true;
    return false;
}

// How far CANDIDATE's line may lie off because another part comes so near that the two blend (1/T): where
// the turns themselves do, either may have been taken for the other, and their harmonics are off with them.
static double blend_error(const Candidate *candidate, const Candidate *all, size_t count, const Scene *scene)
{
    double error = 0, turn = candidate->rate_hz / candidate->harmonic, seconds = scene->seconds;
    for (size_t i = 0; i < count; i++) {
        const Candidate *other = &all[i];
        if (are_twins(other->part, candidate->part) || other->weight < rival_ratio * candidate->weight)
            continue;
        double other_turn = other->rate_hz / other->harmonic;
        if (dw_trace_seconds(other->rate_hz, candidate->rate_hz) > seconds &&
            !are_parted(scene, other->rate_hz, candidate->rate_hz))
            error = fmax(error, 0.5 / seconds);
        if (other->harmonic == candidate->harmonic && dw_trace_seconds(other_turn, turn) > seconds &&
            !are_parted(scene, other_turn, turn))
            error = fmax(error, 0.5 * candidate->harmonic / seconds);
    }
    return error;
}

static double normal_density(double distance, double deviation)
{
    double z = distance / deviation;
    return exp(-z * z / 2) / (deviation * sqrt(2 * M_PI));
}

// How likely CANDIDATE, known within ERROR, puts a line where LINE is.
static double density(const Candidate *candidate, double error, const Scene *scene, const DwTraceLine *line)
{
    double off = line->frequency_hz - candidate->rate_hz, skirt = 0;
    for (size_t i = 0; i < scene->count && scene->before; i++) {
        const DwTraceLine *main = &scene->lines[i];
        bool is_its = belonging(scene, i, candidate->part) > sure &&
                      fabs(main->frequency_hz - candidate->rate_hz) < 3 * hypot(error, main->uncertainty_hz);
        if (main != line && is_its && line->amplitude < skirt_weaker * main->amplitude)
            skirt = normal_density(line->frequency_hz - main->frequency_hz, skirt_width * main->frequency_hz);
    }
    return (1 - slip_share) * normal_density(off, error) + slip_share * normal_density(off, slip_times * error) +
           skirt_share * skirt;
}

// Whether line I is surely one part's, and so much stronger than LINE that what stands about it is its unevenness.
static bool rules(const Scene *scene, size_t i, const DwTraceLine *line)
{
    const DwTraceFinding *its = scene->before ? &scene->before[i] : NULL;
    return its && its->suspects[0].part != DW_PART_UNKNOWN && its->suspects[0].confidence > sure &&
           weak_share * scene->lines[i].amplitude > line->amplitude;
}

// How many lines a hertz there are about LINE where they crowd, as noise of a band does: one more is no surprise then.
static double crowd(const Scene *scene, const DwTraceLine *line)
{
    double reach_hz = CROWD_WIDTHS / scene->seconds;
    size_t near = 0;
    for (size_t i = 0; i < scene->count; i++) {
        bool is_near = fabs(scene->lines[i].frequency_hz - line->frequency_hz) < reach_hz;
        if (is_near && rules(scene, i, line))
            return 0;
        near += &scene->lines[i] != line && is_near && scene->lines[i].amplitude > weak_share * line->amplitude;
    }
    return near >= CROWD ? (double)near / (2 * reach_hz) : 0;
}

// The best harmonic of each part, scored at LINE; returns the sum of all scores.
static double score_parts(const Scene *scene, const DwTraceLine *line, Candidate *candidates, size_t candidate_count,
                          Candidate best[DW_PART_COUNT])
{
    double sum = 0;
    memset(best, 0, DW_PART_COUNT * sizeof *best);
    for (size_t i = 0; i < candidate_count; i++)
        candidates[i].weight *= credit(&candidates[i], scene, line);
    for (size_t i = 0; i < candidate_count; i++) {
        Candidate *candidate = &candidates[i];
        double error = fmax(error_least_hz, hypot(line->uncertainty_hz, candidate->error_hz));
        if (!candidate->is_heard || candidate->harmonic == 1) // the rest was found in its row, whatever the first does
            error = hypot(error, blend_error(candidate, candidates, candidate_count, scene));
        candidate->score = candidate->weight * density(candidate, error, scene, line);
        sum += candidate->score;
        double total = best[candidate->part].total + candidate->score;
        if (candidate->score > best[candidate->part].score)
            best[candidate->part] = *candidate;
        best[candidate->part].total = total;
    }
    best[DW_PART_UNKNOWN] = (Candidate){.part = DW_PART_UNKNOWN};
    best[DW_PART_UNKNOWN].score =
        unknown_weight / (line->frequency_hz * log(octaves_high_hz / octaves_low_hz)) + crowd(scene, line);
    best[DW_PART_UNKNOWN].total = best[DW_PART_UNKNOWN].score;
    return sum + best[DW_PART_UNKNOWN].score;
}

static void add_suspect(DwTraceFinding *finding, const Candidate *candidate, double sum)
{
    double confidence = candidate->total / sum;
    finding->suspects[finding->suspect_count++] = (DwTraceSuspect){candidate->part, candidate->order,   candidate->what,
                                                                   candidate->turn, candidate->rate_hz, confidence};
    finding->confidence += confidence;
}

// Whether what A and B do comes at one rate, whatever the recording: poles and the lines of a tacho on one shaft.
// How readily each shows it is then no evidence against either.
static bool come_as_one(const Candidate *a, const Candidate *b)
{
    bool both =
        (a->part == DW_PART_POLE && b->part == DW_PART_TACHO) || (a->part == DW_PART_TACHO && b->part == DW_PART_POLE);
    bool may_lead = a->harmonic <= 2 && b->harmonic <= 2; // what is higher is weaker, and leads nowhere
    return both && may_lead && fabs(a->rate_hz - b->rate_hz) <= coincidence * a->rate_hz;
}

static void name_suspects(const Candidate best[DW_PART_COUNT], double sum, DwTraceFinding *finding)
{
    bool named[DW_PART_COUNT] = {false};
    double first = 0;
    const Candidate *likeliest = NULL;
    for (;;) {
        size_t next = DW_PART_COUNT;
        for (size_t i = 0; i < DW_PART_COUNT; i++)
            if (!named[i] && best[i].total > 0 && (next == DW_PART_COUNT || best[i].total > best[next].total))
                next = i;
        if (next == DW_PART_COUNT)
            return;
        named[next] = true;
        bool as_one = likeliest && come_as_one(likeliest, &best[next]);
        if (best[next].total < (as_one ? as_one_ratio : rival_ratio) * first)
            continue;
        // "Or no part at all" names nobody; it only lowers the confidence.
        if (next == DW_PART_UNKNOWN && finding->suspect_count > 0)
            continue;
        first = fmax(first, best[next].total);
        likeliest = likeliest ? likeliest : &best[next];
        add_suspect(finding, &best[next], sum);
        if (next == DW_PART_UNKNOWN)
            return;
    }
}

// Says of LINE, one of SCENE, what the RATES make of it.
static void explain(const Scene *scene, const DwTraceLine *line, const DwRate *rates, size_t rate_count,
                    DwTraceFinding *finding)
{
    Candidate candidates[CANDIDATES_MOST], best[DW_PART_COUNT];
    size_t candidate_count = list_candidates(rates, rate_count, candidates);
    double sum = score_parts(scene, line, candidates, candidate_count, best);
    *finding = (DwTraceFinding){.share = finding->share};
    name_suspects(best, sum, finding);
}

void dw_trace_lines(const DwTraceLine *lines, size_t count, const DwRate *rates, size_t rate_count, double seconds,
                    double power, DwTraceFinding *findings)
{
    assert(rate_count <= DW_RATES_MOST && seconds > 0);
    DwTraceFinding *before = dw_memory_new(count, sizeof *before);
    Scene scene = {lines, count, NULL, seconds};
    double lines_power = 0;
    for (size_t i = 0; i < count; i++)
        lines_power += lines[i].amplitude * lines[i].amplitude / 2;
    DwRate known[DW_RATES_MOST];
    dw_trace_find_rows(lines, count, rates, rate_count, known);
    for (size_t i = 0; i < count; i++) {
        findings[i].share = 100 * lines[i].amplitude * lines[i].amplitude / 2 / (isnan(power) ? lines_power : power);
        explain(&scene, &lines[i], known, rate_count, &findings[i]);
    }
    scene.before = before;
    for (int round = 0; round < ROUNDS && count > 0; round++) {
        memcpy(before, findings, count * sizeof *before);
        for (size_t i = 0; i < count; i++) {
            DwRate refined[DW_RATES_MOST];
            for (size_t r = 0; r < rate_count; r++)
                refined[r] = known[r];
            // By the other lines: none speaks for itself.
            dw_trace_refine(lines, before, count, i, refined, rate_count);
            dw_trace_follow_turns(known, refined, rate_count);
            explain(&scene, &lines[i], refined, rate_count, &findings[i]);
        }
    }
    free(before);
}

// A growing list of pairs that takes each only once.
typedef struct {
    double seconds; // recorded
    DwTracePair *pairs;
    size_t count, room;
} PairList;

static void add_pair(PairList *list, DwPart a, double a_hz, DwPart b, double b_hz)
{
    double seconds = dw_trace_seconds(a_hz, b_hz);
    // The record stands beside the platter; naming the platter is enough.
    if (are_twins(a, b) || a == DW_PART_RECORD || b == DW_PART_RECORD || !(seconds > list->seconds))
        return;
    if (a > b) {
        add_pair(list, b, b_hz, a, a_hz);
        return;
    }
    for (size_t i = 0; i < list->count; i++)
        if (list->pairs[i].parts[0] == a && list->pairs[i].parts[1] == b)
            return;
    if (list->count < list->room)
        list->pairs[list->count++] = (DwTracePair){{a, b}, seconds};
}

size_t dw_trace_pairs(const DwTraceFinding *findings, size_t finding_count, const DwRate *rates, size_t rate_count,
                      double seconds, DwTracePair *pairs, size_t room)
{
    PairList list = {seconds, pairs, 0, room};
    for (size_t i = 0; i < rate_count; i++)
        for (size_t j = i + 1; j < rate_count; j++)
            if (!rates[i].what && !rates[j].what)
                add_pair(&list, rates[i].part, rates[i].rate_hz, rates[j].part, rates[j].rate_hz);
    for (size_t i = 0; i < finding_count; i++)
        for (size_t a = 0; a < findings[i].suspect_count; a++)
            for (size_t b = a + 1; b < findings[i].suspect_count; b++)
                add_pair(&list, findings[i].suspects[a].part, findings[i].suspects[a].rate_hz,
                         findings[i].suspects[b].part, findings[i].suspects[b].rate_hz);
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
