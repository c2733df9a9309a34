// SPDX-License-Identifier: MIT
#include "measure/speed/seating.h"

#include "base/memory.h"
#include "measure/speed/speed_analysis.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// A record's tone may be off by this (IEC 60098), and with it the rate that turns are expected at.
static const double RATE_WITHIN = 0.006;

struct DwSeating {
    DwSpeedSettings settings;
    DwSpeed *speed;
    DwToneRun run; // views into `speed`
    DwSpeedAnalysis analysis;
};

DwSeating *dw_seating_new(DwSpeedSettings settings)
{
    DwSeating *seating = dw_memory_new(1, sizeof *seating);
    seating->settings = settings;
    seating->speed = dw_speed_new(settings);
    return seating;
}

void dw_seating_free(DwSeating *seating)
{
    if (!seating)
        return;
    dw_speed_analysis_clear(&seating->analysis);
    dw_speed_free(seating->speed);
    free(seating);
}

void dw_seating_push(DwSeating *seating, const float *interleaved, size_t frames)
{
    dw_speed_push(seating->speed, interleaved, frames);
}

DwStatus dw_seating_finish(DwSeating *seating, DwMessage *message)
{
    dw_speed_finish(seating->speed);
    return dw_speed_work_out(seating->speed, &seating->run, &seating->analysis, message);
}

// The vector c·cos + s·sin of harmonic K + 1, at SECONDS.
static DwVector vector_at(const DwHarmonicFit *fit, size_t k, double seconds)
{
    double angle = 2 * M_PI * (double)(k + 1) * fit->rate_hz * seconds, c = cos(angle), s = sin(angle);
    return (DwVector){fit->cosine[k] * c + fit->sine[k] * s, fit->cosine[k] * s - fit->sine[k] * c};
}

DwSeatingReading dw_seating_read(const DwSeating *seating)
{
    const DwSpeedAnalysis *a = &seating->analysis;
    double turn_hz = dw_speed_analysis_turn_hz(a, &seating->run, &seating->settings);
    double length_s = (double)a->count / a->rate_hz;
    DwSeatingReading reading = {
        .start_s = a->start_s,
        .length_s = length_s,
        .tone_hz = a->mean_hz,
        .turn_hz = turn_hz,
        .turns = length_s * turn_hz,
        .drift_per_s = a->drift / 100 / 60,
        .centre_s = a->fit.centre,
        .weighted = a->weighted.two_sigma,
    };
    for (size_t k = 0; k < 2; k++) {
        reading.vector[k] = vector_at(&a->fit, k, a->fit.centre);
        reading.vector_off[k] = a->turn_off[k];
    }
    return reading;
}

bool dw_seating_tick(const DwSeating *seating, DwTurnTick *tick)
{
    double turn_hz = dw_speed_analysis_turn_hz(&seating->analysis, &seating->run, &seating->settings);
    return dw_turn_tick_find(&seating->run, turn_hz, RATE_WITHIN, tick);
}

double dw_seating_weighted_without(const DwSeating *seating, const DwVector parts[2])
{
    DwSpeedAnalysis rest = seating->analysis; // its fit apart, arrays of its own where they change
    rest.deviation = dw_memory_new(rest.count, sizeof *rest.deviation);
    rest.work = dw_memory_new(rest.count, sizeof *rest.work);
    for (size_t k = 0; k < 2; k++) {
        double angle = -2 * M_PI * (double)(k + 1) * rest.fit.rate_hz * rest.fit.centre, c = cos(angle), s = sin(angle);
        rest.fit.cosine[k] -= parts[k].real * c - parts[k].imaginary * s;
        rest.fit.sine[k] += parts[k].real * s + parts[k].imaginary * c;
    }
    for (size_t n = 0; n < rest.count; n++) {
        double t = rest.start_s + (double)n / rest.rate_hz;
        rest.deviation[n] =
            seating->analysis.deviation[n] - dw_fit_periodic(&seating->analysis.fit, t) + dw_fit_periodic(&rest.fit, t);
    }
    dw_speed_fluctuation(&seating->settings, &rest);
    free(rest.deviation);
    free(rest.work);
    return rest.weighted.two_sigma;
}
