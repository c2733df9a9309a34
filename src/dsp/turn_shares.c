// SPDX-License-Identifier: MIT
#include "dsp/turn_shares.h"

#include "base/memory.h"
#include "dsp/statistics.h"

#include <gsl/gsl_sf_bessel.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

enum { ANGLES = 48, BEFORE = 600, SWEEPS = 3000, LEAST_TAKES = 3, UNKNOWNS_MOST = 2 * DW_TURN_SHARES_MOST };
static const double LEAST = 0.001, MOST = 1.5;           // %
static const double EVEN = 0.02;                         // %: below it every amplitude is as likely as another
static const double STEP = 0.7;                          // of a logarithm
static const double SHARE_OFF = 0.02, FLOOR_OFF = 0.002; // what an amplitude is off by at least

typedef struct {
    const DwTurnTake *takes;
    size_t count, records, platters;
    double play;
    double share[UNKNOWNS_MOST];     // of the records, then of the platters
    double fit[DW_TURN_SHARES_MOST]; // logarithm of each take's likelihood
    uint64_t seed;
} Walk;

// Even between 0 and 1: G. Marsaglia's xorshift (2003).
static double any(Walk *walk)
{
    walk->seed ^= walk->seed << 13;
    walk->seed ^= walk->seed >> 7;
    walk->seed ^= walk->seed << 17;
    return ((double)(walk->seed >> 11) + 0.5) / 9007199254740992.0;
}

static double log_likelihood(const Walk *walk, const DwTurnTake *take)
{
    double record = walk->share[take->record], platter = walk->share[walk->records + take->platter];
    double read = hypot(take->off / 1.96, SHARE_OFF * take->amplitude + FLOOR_OFF);
    double variance = read * read + walk->play * walk->play, sum = 0;
    for (int n = 0; n < ANGLES; n++) {
        double turn = cos(M_PI * (n + 0.5) / ANGLES);
        double length = sqrt(fmax(0, record * record + platter * platter + 2 * record * platter * turn));
        double off = take->amplitude - length;
        sum += exp(-0.5 * off * off / variance) * gsl_sf_bessel_I0_scaled(take->amplitude * length / variance);
    }
    return log(sum / ANGLES * take->amplitude / variance + 1e-300);
}

static bool is_of(const Walk *walk, const DwTurnTake *take, size_t unknown)
{
    return unknown < walk->records ? take->record == unknown : take->platter == unknown - walk->records;
}

// How likely a share is beforehand, for its logarithm.
static double beforehand(double share)
{
    return share >= LEAST && share <= MOST ? log(share / (share + EVEN)) : -INFINITY;
}

// Proposes another share for UNKNOWN.
static void step(Walk *walk, size_t unknown)
{
    double before = walk->share[unknown], fit[DW_TURN_SHARES_MOST], gain;
    walk->share[unknown] = before * exp(STEP * (2 * any(walk) - 1) * (any(walk) < 0.2 ? 4 : 1));
    gain = beforehand(walk->share[unknown]) - beforehand(before);
    for (size_t i = 0; i < walk->count && isfinite(gain); i++) {
        fit[i] = is_of(walk, &walk->takes[i], unknown) ? log_likelihood(walk, &walk->takes[i]) : walk->fit[i];
        gain += fit[i] - walk->fit[i];
    }
    if (!(log(any(walk)) < gain)) {
        walk->share[unknown] = before;
        return;
    }
    for (size_t i = 0; i < walk->count; i++)
        walk->fit[i] = fit[i];
}

// One record on one platter: either may have either share.
static void exchange(Walk *walk)
{
    if (walk->records != 1 || walk->platters != 1 || any(walk) < 0.5)
        return;
    double share = walk->share[0];
    walk->share[0] = walk->share[1];
    walk->share[1] = share;
}

static DwTurnShare share_of(float *met, size_t count)
{
    return (DwTurnShare){dw_statistics_quantile(met, count, 0.025), dw_statistics_quantile(met, count, 0.5),
                         dw_statistics_quantile(met, count, 0.975)};
}

bool dw_turn_shares(const DwTurnTake *takes, size_t count, size_t records, size_t platters, double play,
                    DwTurnShare *of_record, DwTurnShare *of_platter)
{
    size_t unknowns = records + platters;
    Walk walk = {.takes = takes,
                 .count = count,
                 .records = records,
                 .platters = platters,
                 .play = play,
                 .seed = 0x9E3779B97F4A7C15u};
    if (count < LEAST_TAKES || count > DW_TURN_SHARES_MOST)
        return false;
    double mean = 0;
    for (size_t i = 0; i < count; i++)
        mean += takes[i].amplitude / (double)count;
    if (!(mean > 0) || !isfinite(mean))
        return false;
    for (size_t u = 0; u < unknowns; u++)
        walk.share[u] = fmin(MOST, fmax(LEAST, 0.5 * mean));
    for (size_t i = 0; i < count; i++)
        walk.fit[i] = log_likelihood(&walk, &takes[i]);
    float *met = dw_memory_new(unknowns * SWEEPS, sizeof *met);
    for (size_t sweep = 0; sweep < BEFORE + SWEEPS; sweep++) {
        for (size_t u = 0; u < unknowns; u++)
            step(&walk, u);
        exchange(&walk);
        for (size_t u = 0; u < unknowns && sweep >= BEFORE; u++)
            met[u * SWEEPS + sweep - BEFORE] = (float)walk.share[u];
    }
    for (size_t u = 0; u < unknowns; u++)
        *(u < records ? &of_record[u] : &of_platter[u - records]) = share_of(met + u * SWEEPS, SWEEPS);
    free(met);
    return true;
}
