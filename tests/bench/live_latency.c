// SPDX-License-Identifier: MIT
// How long the live engine takes from a sound to a snapshot that shows it:
// by the samples (the same on every machine), and by the clock on this one.
#include "procedure/live/live_clock.h"
#include "procedure/live/live_session.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { RATE = 48000, MS = RATE / 1000, BEFORE_S = 8, PHASES = 20, WAITS = 200 };

// A tone of 3150 Hz for BEFORE_S and PHASE ms, then one faster by STEP per cent, or silence.
static float sample_at(size_t n, size_t change, double step_percent)
{
    double before = n < change ? (double)n : (double)change, after = (double)(n - (size_t)before);
    if (n >= change && isnan(step_percent))
        return 0;
    double turns = 3150.0 / RATE * (before + (after > 0 ? after * (1 + step_percent / 100) : 0));
    return (float)(0.25 * sin(2 * M_PI * (turns - floor(turns))));
}

// Milliseconds of samples from the change to the frame that shows it.
static int delay_of(size_t phase_ms, double step_percent)
{
    DwLiveMeterSettings settings = dw_live_meter_settings(RATE, 1);
    DwLiveMeter *meter = dw_live_meter_new(&settings);
    const DwLiveFigure *now = &dw_live_meter_figures(meter)->figure[DW_LIVE_SPEED_NOW];
    size_t change = BEFORE_S * RATE + phase_ms * MS, n = 0;
    float block[MS];
    for (bool shown = false; !shown && n < change + RATE;) {
        for (size_t i = 0; i < MS; i++)
            block[i] = sample_at(n++, change, step_percent);
        dw_live_meter_push(meter, block, MS);
        shown = n > change && (isnan(step_percent) ? now->stale : now->value > step_percent / 2);
    }
    dw_live_meter_free(meter);
    return (int)((n - change) / MS);
}

static void report_delays(const char *what, double step_percent)
{
    int least = 10000, most = 0;
    for (size_t i = 0; i < PHASES; i++) {
        int delay = delay_of(i * 50 / PHASES, step_percent);
        least = delay < least ? delay : least;
        most = delay > most ? delay : most;
    }
    printf("%s: %d to %d ms of samples\n", what, least, most);
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void report_times(const char *what, double *seconds, size_t count)
{
    qsort(seconds, count, sizeof *seconds, by_size);
    printf("%s: median %.2f ms, 95 %% below %.2f ms, worst %.2f ms\n", what, 1e3 * seconds[count / 2],
           1e3 * seconds[count * 95 / 100], 1e3 * seconds[count - 1]);
}

// From the samples' coming out of the device's buffer to a reader that has the snapshot.
static bool report_session(void)
{
    DwLiveSession *session = dw_live_session_new();
    DwLiveSnapshot *snapshot = calloc(1, sizeof *snapshot);
    DwInputs *inputs = dw_inputs_new();
    DwMessage message;
    double seconds[WAITS];
    uint64_t seq = 0;
    size_t count = 0;
    DwLiveStart start = {.input = "tone", .inputs = inputs, .keep_s = 60};
    bool started = dw_live_session_start(session, &start, &message) == DW_OK;
    while (started && count < WAITS && dw_live_session_wait(session, seq, 5000, snapshot)) {
        if (snapshot->figures.frames > 0)
            seconds[count++] = snapshot->since_samples_s;
        seq = snapshot->seq;
    }
    if (started && count)
        report_times("samples read to snapshot in a reader's hands", seconds, count);
    else
        printf("%s\n", message.text);
    dw_live_session_free(session);
    dw_inputs_free(inputs);
    free(snapshot);
    return started;
}

int main(void)
{
    report_delays("a lost tone told", NAN);
    report_delays("half of a step of speed shown", 0.5);
    return report_session() ? EXIT_SUCCESS : EXIT_FAILURE;
}
