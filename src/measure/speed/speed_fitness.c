// SPDX-License-Identifier: MIT
#include "measure/speed/speed_fitness.h"

#include "dsp/flutter_weighting.h"
#include "measure/speed/turn_tick.h"

#include <math.h>

static const double LEAST_LEVEL = 0.0005; // of the tone: smaller swings tell nothing
static const double ONE_SIDE = 1.25;      // within this factor level and phase swing alike
static const double ROOM_LEVEL = 0.005;   // swing of the level that flutter itself never makes
static const double ROOM_FROM_HZ = 2.5;   // slower swings come from warped records too
static const double THRESHOLD = 100;      // tone over noise in the demodulator's band, power
static const double BAND_HZ = 600;

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

static void note_added(const DwFlutterLine *line, DwSpeedFitness *fitness)
{
    double gain = dw_flutter_weighting_gain(line->frequency_hz), power = 0.5 * line->amplitude * line->amplitude;
    fitness->added += power;
    fitness->added_weighted += gain * gain * power;
}

void dw_speed_fitness(const DwToneRun *run, DwSpeedAnalysis *analysis)
{
    DwSpeedFitness *fitness = &analysis->fitness;
    *fitness = (DwSpeedFitness){0};
    double *level = analysis->work; // nobody needs it yet
    read_levels(run, analysis, level);
    size_t count = 0;
    bool is_room = false;
    double following = 0;
    for (size_t l = 0; l < analysis->line_count; l++) {
        const DwFlutterLine *line = &analysis->lines[l];
        double real, imaginary, off_hz = line->amplitude / 100 * analysis->mean_hz;
        dw_spectrum_line(level, analysis->used, analysis->count, line->frequency_hz / analysis->rate_hz, &real,
                         &imaginary);
        double swing = hypot(real, imaginary), phase = off_hz / line->frequency_hz;
        bool alike = swing < ONE_SIDE * phase && phase < ONE_SIDE * swing;
        if (swing < LEAST_LEVEL)
            continue;
        following += 0.5 * swing * swing;
        if (alike && line->frequency_hz > ROOM_FROM_HZ)
            note_added(line, fitness);
        if (line->frequency_hz > ROOM_FROM_HZ) {
            is_room = is_room || (swing > ROOM_LEVEL && !alike);
            count++;
        }
    }
    fitness->is_drowned = 1 / (2 * analysis->noise_density * BAND_HZ) < THRESHOLD;
    if (is_room && count >= 2) {
        fitness->added = fitness->added_weighted = 0; // a room makes some swing alike by chance
        fitness->level_swing = sqrt(following);
    }
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
