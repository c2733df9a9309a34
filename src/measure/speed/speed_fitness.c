// SPDX-License-Identifier: MIT
#include "measure/speed/speed_fitness.h"

#include "measure/speed/speed_level.h"
#include "measure/speed/turn_tick.h"

#include <float.h>
#include <math.h>

const double dw_speed_fading = 0.02;

static const double LEAST_LEVEL = 0.0005; // of the tone: smaller swings tell nothing
static const double ONE_SIDE = 1.25;      // within this factor level and phase swing alike
static const double LEANS = 0.1;          // of the phase's swing: a dry level leaves it at a hundredth and less
static const double ROOM_LEVEL = 0.005;   // swing of the level that flutter itself never makes
static const double ROOM_FROM_HZ = 2.5;   // slower swings come from warped records too
static const double WARP_LEVEL = 0.1;     // rms, and FOLLOWS of it a function of the speed: no warp swings the level so
static const double FOLLOWS = 0.2;
// A warp's swing is no function of the speed: fast lines do not show it. Told where a room would show this much by them
// (rms; likewise over the noise in so wide a band, power), and not a quarter of it is there.
static const double ASKED = 0.002, ASKED_BAND_HZ = 10, UNANSWERED = 1.0 / 16;
static const double BESIDE_LINES = 0.5; // of that power, that all of the level may do above the turn's few harmonics
static const double WARP_HARMONICS = 4, WARP_WITHIN = 0.05; // of the turn, that a warp's own swing has
static const double THRESHOLD = 100;                        // tone over noise in the demodulator's band, power
static const double BAND_HZ = 600;
// Over what the level's swing would read: how far a room moves a slow line, and its phase. By drawn rooms.
static const double TURN_DOUBT = 2, PHASE_DOUBT = 5;
// Likewise, over a period lost at each fade: what the mean and a line of the platter are out by.
static const double MEAN_SLIPS = 0.28, TURN_SLIPS = 0.4;

static const double TURN_WITHIN = 0.01; // of the turn's rate, that ticks are looked for
static const double TICK_S = 0.015;     // on either side of a tick: what it smears over
static const double LEAST_JUMP = 0.03;  // periods
static const double SAME_JUMP = 0.9;    // how nearly all jumps are one, 1 at best

static void read_levels(const DwToneRun *run, const DwSpeedAnalysis *analysis, double *level)
{
    size_t from = (size_t)lround((analysis->start_s - run->start_s) * run->rate_hz + 0.5);
    double last = analysis->amplitude;
    for (size_t n = 0; n < analysis->count; n++) {
        double here = from + n < run->count ? (double)run->amplitude[from + n] : last;
        last = analysis->used[n] && here > 0 ? here : last;
        level[n] = log(last / analysis->amplitude);
    }
}

// What the lines tell of a room.
typedef struct {
    size_t swinging; // fast ones that the level follows
    size_t leaning;  // of them those with a swing that is no sound's beside the tone, and a good part of the phase's
    bool is_room;
    double following;                // mean square of the level's swing at all lines
    double fast_following, fast_hz2; // at fast ones that are none of a warp; and of the tone's frequency by them
} Followed;

static void follow_line(const DwSpeedAnalysis *analysis, const double *level, const DwFlutterLine *line,
                        Followed *followed)
{
    double real, imaginary, off_hz = line->amplitude / 100 * analysis->mean_hz;
    dw_spectrum_line(level, analysis->used, analysis->count, line->frequency_hz / analysis->rate_hz, &real, &imaginary);
    double swing = hypot(real, imaginary), phase = off_hz / line->frequency_hz;
    bool alike = swing < ONE_SIDE * phase && phase<ONE_SIDE * swing, fast = line->frequency_hz> ROOM_FROM_HZ;
    double turns = line->frequency_hz / analysis->turn_hz;
    bool is_warps = turns < WARP_HARMONICS + 0.5 && fabs(turns - round(turns)) < WARP_WITHIN;
    if (fast && !is_warps) {
        followed->fast_hz2 += 0.5 * off_hz * off_hz;
        followed->fast_following += 0.5 * swing * swing;
    }
    if (swing < LEAST_LEVEL)
        return;
    followed->following += 0.5 * swing * swing;
    followed->swinging += fast;
    followed->leaning += fast && !alike && swing > LEANS * phase;
    followed->is_room = followed->is_room || (fast && swing > ROOM_LEVEL && !alike);
}

// Fades a second in a room: at each the tone's phase may slip by a period.
static double fades_hz(const DwSpeedAnalysis *analysis)
{
    if (analysis->fitness.level_swing == 0 || analysis->excluded < dw_speed_fading)
        return 0;
    return (double)dw_speed_gaps(analysis) * analysis->rate_hz / (double)analysis->count;
}

// How far what the level does leaves the platter's lines and the mean.
static void widen(DwSpeedAnalysis *analysis)
{
    double sway = analysis->fitness.unrest * 100 / analysis->mean_hz * analysis->turn_hz; // % peak
    double fades = fades_hz(analysis), slipping = TURN_SLIPS * 100 * fades / analysis->mean_hz;
    double first = hypot(analysis->fit.cosine[0], analysis->fit.sine[0]);
    for (size_t k = 0; k < 2; k++) {
        double swayed = hypot(TURN_DOUBT * (double)(k + 1) * sway, slipping);
        analysis->turn_off[k] = hypot(analysis->turn_off[k], swayed);
    }
    double turned = hypot(PHASE_DOUBT * sway, slipping) / fmax(first, DBL_MIN);
    analysis->turn_phase_off = hypot(analysis->turn_phase_off, turned);
    analysis->mean_off_hz = hypot(analysis->mean_off_hz, MEAN_SLIPS * fades);
}

// What fast lines tell of a slow swing of the level.
typedef enum { BY_FAST_NOTHING, BY_FAST_ROOM, BY_FAST_DRY } ByFast;

static ByFast tell_by_fast(const DwSpeedAnalysis *analysis, const DwSpeedLevel *read, const Followed *followed)
{
    double by_hz = 2 * M_PI * read->spread_s, expected = by_hz * by_hz * followed->fast_hz2;
    if (!(expected > fmax(ASKED * ASKED, 2 * analysis->noise_density * ASKED_BAND_HZ)))
        return BY_FAST_NOTHING;
    bool is_dry = followed->fast_following < UNANSWERED * expected &&
                  read->fast_swing * read->fast_swing < BESIDE_LINES * expected;
    return is_dry ? BY_FAST_DRY : BY_FAST_ROOM;
}

// A swing counts as far as it follows the speed, for a warp and an arm make some too; in a room all of it counts.
static void judge(const DwSpeedLevel *read, const Followed *followed, ByFast by_fast, DwSpeedFitness *fitness)
{
    bool is_slow = read->follows > FOLLOWS && read->slow_swing > WARP_LEVEL && by_fast != BY_FAST_DRY;
    bool is_fast = (followed->is_room && followed->swinging >= 2) || followed->leaning >= 2,
         is_room = is_slow || is_fast;
    double share = is_room ? 1 : read->follows;
    fitness->swayed = share * (read->slow.flat + read->fast.flat);
    fitness->swayed_weighted = share * (read->slow.weighted + read->fast.weighted);
    fitness->unrest = sqrt(share) * hypot(read->slow_swing, read->fast_swing);
    if (!is_room) {
        fitness->added = read->added.flat;
        fitness->added_weighted = read->added.weighted;
        return;
    }
    fitness->level_swing = fmax(sqrt(followed->following), is_slow ? read->slow_swing : 0);
    fitness->may_be_warp = !is_fast && by_fast == BY_FAST_NOTHING;
    fitness->spread_s = read->spread_s;
}

void dw_speed_fitness(const DwDemodulator *demodulator, const DwToneRun *run, DwSpeedAnalysis *analysis)
{
    DwSpeedFitness *fitness = &analysis->fitness;
    *fitness = (DwSpeedFitness){.spread_s = NAN};
    double *level = analysis->work; // nobody needs it yet
    read_levels(run, analysis, level);
    Followed followed = {0};
    for (size_t l = 0; l < analysis->line_count; l++)
        follow_line(analysis, level, &analysis->lines[l], &followed);
    fitness->is_drowned = 1 / (2 * analysis->noise_density * BAND_HZ) < THRESHOLD;
    DwSpeedLevel read = dw_speed_level_read(demodulator, analysis, level);
    judge(&read, &followed, tell_by_fast(analysis, &read, &followed), fitness);
    widen(analysis);
}

// Periods by which the tone's phase runs ahead across SECOND, over what it does beside.
static double jump_at(const DwToneRun *run, double second)
{
    size_t reach = (size_t)(TICK_S * run->rate_hz), middle = (size_t)lround((second - run->start_s) * run->rate_hz);
    if (middle < 2 * reach || middle + 2 * reach >= run->count)
        return NAN;
    double inside = 0, beside = 0;
    for (size_t i = middle - 2 * reach; i < middle + 2 * reach; i++) {
        bool is_inside = i >= middle - reach && i < middle + reach;
        *(is_inside ? &inside : &beside) += (double)run->deviation_hz[i] / run->rate_hz;
    }
    return inside - beside;
}

bool dw_speed_is_locked(const DwToneRun *run, double turn_hz)
{
    DwTurnTick tick;
    if (!dw_turn_tick_find(run, turn_hz, TURN_WITHIN, &tick))
        return false;
    // Jumps are known but for whole periods: their mean on the circle.
    double real = 0, imaginary = 0;
    size_t count = 0;
    for (double t = tick.first_s; t < run->start_s + (double)run->count / run->rate_hz; t += 1 / tick.rate_hz) {
        double jump = jump_at(run, t);
        if (isnan(jump))
            continue;
        real += cos(2 * M_PI * jump);
        imaginary += sin(2 * M_PI * jump);
        count++;
    }
    bool same = count >= 3 && hypot(real, imaginary) > SAME_JUMP * (double)count;
    return same && fabs(atan2(imaginary, real)) / (2 * M_PI) > LEAST_JUMP;
}
