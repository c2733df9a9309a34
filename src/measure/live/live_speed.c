// SPDX-License-Identifier: MIT
#include "measure/live/live_speed.h"

#include "base/memory.h"
#include "measure/speed/speed_filling.h"

#include <math.h>
#include <stdlib.h>

enum { LEFT_OUT, USED, TORN }; // what a value is
static const double NOW_S = 0.1;
static const double MARK_S = 0.3; // ticks and dropouts are told against so much before them
static const double LEAST_TURNS = 3;
static const double ENDS_S = 0.3;     // what the analysis leaves out at both ends, and a little
static const double STEADY = 0.02;    // a tone that was farther off was still running up
static const double BLOCK_S = 0.1;    // pieces in which that is looked at
static const double FADED = 0.5;      // of the present amplitude: such a piece does not tell
static const double TURN_MOST_S = 5;  // more than a turn at 16⅔ rpm
static const double LEAST_USED = 0.5; // of the values of a stretch; with more left out nobody knows what was
static const double NOISE_HZ = 430;   // width of the demodulator's noise: flat to 260 Hz, nothing from 600 Hz
static const double NORMAL_95 = 1.96; // half-width of a normal 95 % interval in standard deviations

struct DwLiveSpeed {
    DwSpeedSettings settings;
    double window_s, every_s, since_s;
    size_t run, taken;   // which run, and values of it taken
    double turn;         // of a turn that a value moves on by, where the tone does not tell
    double noise;        // density over the tone's power, from the last analysis; 1/Hz
    unsigned char *mark; // of the values looked at last
    size_t mark_room;
    unsigned char *kind; // of value i at i % kinds, for values taken
    size_t kinds;
    DwLiveSpeedReading reading;
    DwLiveRaster raster;
    DwLiveSpectrum spectrum;
};

static const DwFluctuation no_fluctuation = {NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};

DwLiveSpeed *dw_live_speed_new(const DwSpeedSettings *settings, double window_s, double every_s)
{
    DwLiveSpeed *speed = dw_memory_new(1, sizeof *speed);
    speed->settings = *settings;
    speed->window_s = window_s;
    speed->every_s = every_s;
    speed->reading = (DwLiveSpeedReading){.now = NAN,
                                          .now_off = NAN,
                                          .turn = NAN,
                                          .turn_off = NAN,
                                          .needed_s = LEAST_TURNS * 60 / settings->speed_rpm + ENDS_S,
                                          .over_s = NAN,
                                          .mean = NAN,
                                          .mean_off = NAN,
                                          .drift = NAN,
                                          .drift_off = NAN,
                                          .weighted = no_fluctuation,
                                          .unweighted = no_fluctuation,
                                          .wow = NAN,
                                          .flutter = NAN,
                                          .floor = NAN,
                                          .once = NAN,
                                          .once_off = NAN,
                                          .amplitude = NAN};
    dw_live_raster_clear(&speed->raster);
    dw_live_spectrum_forget(&speed->spectrum);
    return speed;
}

void dw_live_speed_free(DwLiveSpeed *speed)
{
    if (!speed)
        return;
    free(speed->mark);
    free(speed->kind);
    free(speed);
}

const DwLiveSpeedReading *dw_live_speed_reading(const DwLiveSpeed *speed)
{
    return &speed->reading;
}

const DwLiveSpectrum *dw_live_speed_spectrum(const DwLiveSpeed *speed)
{
    return &speed->spectrum;
}

const DwLiveRaster *dw_live_speed_raster(const DwLiveSpeed *speed)
{
    return &speed->raster;
}

// FREQUENCY_HZ as per cent fast, the clock's known error taken out.
static double percent(const DwLiveSpeed *speed, const DwToneRun *run, double frequency_hz)
{
    double clock = isfinite(speed->settings.clock_error_ppm) ? speed->settings.clock_error_ppm * 1e-6 : 0;
    return 100 * (frequency_hz * (1 + clock) / run->engraved_hz - 1);
}

// The end of RUN from value FROM on, as a run of its own.
static DwToneRun tail(const DwToneRun *run, size_t from)
{
    DwToneRun view = *run;
    view.deviation_hz += from;
    view.amplitude += from;
    view.count -= from;
    view.start_s += (double)from / run->rate_hz;
    return view;
}

// --- at once --------------------------------------------------------------------

// The mean frequency over the last SPAN values taken, of those used; NAN without half of them. *MISSING_HZ: by how much
// (a standard uncertainty) what is left out may have moved it: all of it may lie on one side of a swing.
static double mean_taken(const DwLiveSpeed *speed, const DwToneRun *run, size_t span, double *missing_hz)
{
    double sum = 0, squares = 0, count = 0;
    for (size_t i = speed->taken - span; i < speed->taken; i++)
        if (speed->kind[i % speed->kinds] == USED) {
            double each = (double)run->deviation_hz[i - run->dropped];
            sum += each;
            squares += each * each;
            count++;
        }
    if (count < LEAST_USED * (double)span || count == 0)
        return NAN;
    double mean = sum / count, missing = 1 - count / (double)span;
    *missing_hz = missing / (1 - missing) * sqrt(fmax(0, squares / count - mean * mean));
    return run->centre_hz + mean;
}

// The mean in percent over the last SPAN values. *OFF is its half-width: a one-sided density of 2·N0·f²/A² of the
// frequency (S. O. Rice 1948, from memory) behind the mean's (sin πfT/πfT)², and what is left out.
static double percent_over(const DwLiveSpeed *speed, const DwToneRun *run, size_t span, double *off)
{
    double missing_hz = 0, mean_hz = mean_taken(speed, run, span, &missing_hz);
    double noise_hz = sqrt(speed->noise * NOISE_HZ) / (M_PI * (double)span / run->rate_hz);
    *off = dw_speed_off_percent(&speed->settings, NORMAL_95 * 100 * hypot(noise_hz, missing_hz) / run->engraved_hz);
    return percent(speed, run, mean_hz);
}

static void read_now(DwLiveSpeed *speed, const DwToneRun *run, size_t turn)
{
    DwLiveSpeedReading *reading = &speed->reading;
    size_t span = (size_t)(NOW_S * run->rate_hz), held = speed->taken - run->dropped;
    if (held >= span)
        reading->now = percent_over(speed, run, span, &reading->now_off);
    if (held >= turn && turn < speed->kinds && reading->steady_s * run->rate_hz >= (double)turn)
        reading->turn = percent_over(speed, run, turn, &reading->turn_off);
}

// Values a turn at the speed that the tone tells; nominal while it does not.
static double values_a_turn(const DwLiveSpeed *speed, const DwToneRun *run)
{
    double ratio = isfinite(speed->reading.now) ? 1 + speed->reading.now / 100 : run->centre_hz / run->engraved_hz;
    return run->rate_hz * 60 / (speed->settings.speed_rpm * ratio);
}

// Hands the values up to END of VIEW, whose first is value FIRST of the run, to the raster.
static void grow_raster(DwLiveSpeed *speed, const DwToneRun *view, size_t first, size_t end, size_t good_to)
{
    bool is_torn = dw_speed_is_torn(view);
    double scale = speed->settings.speed_rpm / 60 / view->rate_hz / view->engraved_hz;
    for (size_t i = speed->taken - first; i < end; i++) {
        double frequency = view->centre_hz + (double)view->deviation_hz[i];
        bool used = speed->mark[i] && !is_torn && first + i < good_to;
        if (used)
            speed->turn = frequency * scale;
        speed->kind[(first + i) % speed->kinds] = is_torn ? TORN : used ? USED : LEFT_OUT;
        dw_live_raster_push(&speed->raster, percent(speed, view, frequency), used, speed->turn);
    }
    speed->taken = first + end;
}

static void take_values(DwLiveSpeed *speed, const DwLiveTone *tone, const DwToneRun *run)
{
    size_t smear = (size_t)(dw_demodulator_smear_s(dw_live_tone_demodulator(tone)) * run->rate_hz) + 1;
    size_t wanted = (size_t)(MARK_S * run->rate_hz), behind = run->dropped + run->count - speed->taken + smear;
    wanted = wanted > behind ? wanted : behind;
    size_t from = run->count > wanted ? run->count - wanted : 0;
    DwToneRun view = tail(run, from);
    if (view.count <= smear)
        return;
    if (!speed->kind) {
        speed->kinds = (size_t)(fmax(speed->window_s, TURN_MOST_S) * run->rate_hz);
        speed->kind = dw_memory_new(speed->kinds, 1);
    }
    if (view.count > speed->mark_room) {
        speed->mark_room = view.count * 2;
        speed->mark = dw_memory_resize(speed->mark, speed->mark_room, 1);
    }
    // What a tick at the very end smears back on is not known yet: that much stays behind.
    dw_speed_mark(dw_live_tone_demodulator(tone), &view, speed->mark);
    size_t first = run->dropped + from, end = view.count - smear;
    if (first + end > speed->taken)
        grow_raster(speed, &view, first, end, dw_live_tone_good_to(tone));
    if (dw_live_tone_state(tone) == DW_LIVE_TONE_HEARD)
        read_now(speed, run, (size_t)values_a_turn(speed, run));
}

// --- settled --------------------------------------------------------------------

// Amplitude-weighted mean deviation of COUNT values and their mean power.
static double block_mean(const DwToneRun *run, size_t from, size_t count, double *power)
{
    double sum = 0;
    *power = 0;
    for (size_t i = from; i < from + count; i++) {
        double each = (double)run->amplitude[i] * (double)run->amplitude[i];
        *power += each / (double)count;
        sum += each / (double)count * (double)run->deviation_hz[i];
    }
    return *power > 0 ? sum / *power : 0;
}

// The value from which on the tone stayed near where it is now.
static size_t steady_from(const DwToneRun *run, size_t end)
{
    size_t block = (size_t)(BLOCK_S * run->rate_hz), span = 5 * block;
    if (end < span)
        return end;
    double power, now_power, now = block_mean(run, end - span, span, &now_power);
    size_t from = end;
    for (; from >= block; from -= block) {
        double mean = block_mean(run, from - block, block, &power);
        bool tells = power > FADED * FADED * now_power;
        if (tells && fabs(mean - now) > STEADY * run->centre_hz)
            return from;
    }
    return 0;
}

// Marks what is left out of RUN, whose first value is value FIRST of the tone's: what was torn when it came, too, for
// where that fills the run its ticks hide one another. The caller frees it with free().
static unsigned char *marks_of(const DwLiveSpeed *speed, const DwLiveTone *tone, const DwToneRun *run, size_t first)
{
    unsigned char *marks = dw_memory_new(run->count, 1);
    dw_speed_mark(dw_live_tone_demodulator(tone), run, marks);
    for (size_t i = 0; i < run->count && first + i < speed->taken; i++)
        if (speed->kind[(first + i) % speed->kinds] == TORN)
            marks[i] = 0;
    return marks;
}

// RUN's first value is value FIRST of the tone's.
static void settle(DwLiveSpeed *speed, const DwLiveTone *tone, const DwToneRun *run, size_t first)
{
    DwLiveSpeedReading *reading = &speed->reading;
    unsigned char *marks = marks_of(speed, tone, run, first);
    DwSpeedAnalysis analysis = {.marked = marks};
    bool is_usable = dw_speed_analyse(dw_live_tone_demodulator(tone), run, &speed->settings, &analysis);
    free(marks);
    reading->torn = analysis.excluded > dw_speed_most_gaps;
    if (reading->torn)
        reading->settled = false;
    if (!is_usable || reading->torn) {
        dw_speed_analysis_clear(&analysis);
        return;
    }
    double over_s = (double)analysis.count / analysis.rate_hz;
    if (over_s * dw_speed_analysis_turn_hz(&analysis, run, &speed->settings) >= LEAST_TURNS) {
        double stray = 100 * analysis.mean_off_hz / analysis.mean_hz;
        reading->settled = true;
        reading->over_s = over_s;
        reading->mean = percent(speed, run, analysis.mean_hz);
        reading->mean_off = isfinite(stray) ? dw_speed_off_percent(&speed->settings, stray) : NAN;
        reading->drift = analysis.drift;
        reading->drift_off = analysis.drift_off;
        reading->weighted = analysis.weighted;
        reading->unweighted = analysis.unweighted;
        reading->wow = analysis.wow;
        reading->flutter = analysis.flutter;
        reading->floor = analysis.floor;
        reading->once = hypot(analysis.fit.cosine[0], analysis.fit.sine[0]);
        reading->once_off = analysis.turn_off[0];
        reading->amplitude = analysis.amplitude;
        speed->noise = analysis.noise_density;
        dw_live_spectrum_take(&speed->spectrum, &analysis, run, &speed->settings);
    }
    dw_speed_analysis_clear(&analysis);
}

// Looks how long the tone has been steady, and settles when that is long enough.
void dw_live_speed_settle(DwLiveSpeed *speed, const DwLiveTone *tone)
{
    const DwToneRun *run = dw_live_tone_run(tone);
    if (!run || run->fit == DW_TONE_FOREIGN || dw_live_tone_state(tone) != DW_LIVE_TONE_HEARD)
        return;
    DwLiveSpeedReading *reading = &speed->reading;
    size_t good = dw_live_tone_good_to(tone), end = good > run->dropped ? good - run->dropped : 0;
    size_t from = steady_from(run, end), window = (size_t)(speed->window_s * run->rate_hz);
    from = end - from > window ? end - window : from;
    reading->steady_s = (double)(end - from) / run->rate_hz;
    reading->needed_s =
        LEAST_TURNS * 60 / (speed->settings.speed_rpm * run->centre_hz / run->engraved_hz * 0.99) + ENDS_S;
    if (reading->steady_s < reading->needed_s) {
        reading->torn = false;
        dw_live_spectrum_forget(&speed->spectrum);
        reading->settled = false; // a run-up has just ended, or the speed was changed
        return;
    }
    DwToneRun view = tail(run, from);
    view.count = end - from;
    settle(speed, tone, &view, run->dropped + from);
}

bool dw_live_speed_take(DwLiveSpeed *speed, const DwLiveTone *tone, double step_s)
{
    const DwToneRun *run = dw_live_tone_run(tone);
    speed->since_s += step_s;
    if (!run || run->fit == DW_TONE_FOREIGN)
        return false;
    if (speed->run != dw_live_tone_runs(tone)) {
        speed->run = dw_live_tone_runs(tone);
        speed->taken = 0;
        speed->reading.settled = speed->reading.torn = false;
        dw_live_spectrum_forget(&speed->spectrum);
        speed->reading.steady_s = 0;
        speed->reading.now = speed->reading.turn = NAN;
        speed->turn = 1 / values_a_turn(speed, run);
        dw_live_raster_restart(&speed->raster);
    }
    take_values(speed, tone, run);
    if (speed->since_s < speed->every_s - step_s / 2 || dw_live_tone_state(tone) != DW_LIVE_TONE_HEARD)
        return false;
    speed->since_s = 0;
    return true;
}
