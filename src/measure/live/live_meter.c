// SPDX-License-Identifier: MIT
#include "measure/live/live_meter.h"

#include "base/memory.h"
#include "base/tongue.h"
#include "measure/tone/front_end.h"
#include "measure/live/live_sides.h"
#include "measure/live/live_speed.h"

#include <assert.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

static const double FRAME_S = 0.05;
static const double HISTORY_S = 4;      // of samples, for the search, the hum and a tone noticed late
static const double QUIETEST_DB = -75;  // below it nothing comes in
static const double BROKEN_S = 0.5;     // as long a break is told
static const double OLD_SIDE_S = 120;   // a tilt from an older other side is not of now
static const double HUM_NEAR_HZ = 12;   // a line so near the tone is the tone
static const double WANTED_TILT_S = 20; // an other side so old is worth a word

struct DwLiveMeter {
    DwLiveMeterSettings settings;
    size_t frame, pending_count;
    float *pending;
    DwFrontEnd *front_end;
    double rate_hz; // of it
    DwWindow history[2];
    DwLiveTone *tone;
    DwLiveSpeed *speed;
    DwLiveSides *sides; // NULL in mono
    DwLiveHum *hum;
    DwLiveLevelMeter level[2];
    double hum_since_s, broken_s;
    bool is_due; // the settled figures are
    DwLiveHistory course;
    DwLiveFigures figures;
};

DwLiveMeterSettings dw_live_meter_settings(double rate_hz, unsigned channels)
{
    return (DwLiveMeterSettings){
        .speed = dw_speed_settings(rate_hz, channels), .mains_hz = 50, .window_s = 30, .every_s = 1};
}

DwLiveMeter *dw_live_meter_new(const DwLiveMeterSettings *settings)
{
    assert(settings->speed.rate_hz >= 8000 && settings->speed.channels >= 1 && settings->speed.channels <= 2);
    DwLiveMeter *meter = dw_memory_new(1, sizeof *meter);
    double rate_hz = settings->speed.rate_hz;
    unsigned channels = settings->speed.channels;
    meter->settings = *settings;
    meter->frame = (size_t)lround(FRAME_S * rate_hz);
    meter->pending = dw_memory_new(meter->frame * channels, sizeof(float));
    meter->front_end = dw_front_end_new(rate_hz, channels);
    meter->rate_hz = dw_front_end_rate_hz(meter->front_end);
    meter->tone = dw_live_tone_new(meter->rate_hz, settings->speed.tone_hz, settings->window_s);
    meter->speed = dw_live_speed_new(&settings->speed, settings->window_s, settings->every_s);
    meter->sides = channels > 1 ? dw_live_sides_new(rate_hz, settings->speed.tone_hz) : NULL;
    meter->hum = dw_live_hum_new(meter->rate_hz, settings->mains_hz);
    DwLiveFigures *figures = &meter->figures;
    *figures = (DwLiveFigures){.channels = channels,
                               .speed_rpm = settings->speed.speed_rpm,
                               .trouble = DW_LIVE_WAITING,
                               .tone_hz = NAN,
                               .tone_amplitude = NAN,
                               .engraved_hz = NAN};
    dw_say_into(figures->why, sizeof figures->why, "Nothing has come in yet.");
    for (size_t c = 0; c < 2; c++) {
        dw_live_level_start(&meter->level[c]);
        figures->level[c] = meter->level[c].level;
    }
    for (size_t i = 0; i < DW_LIVE_FIGURES; i++)
        figures->figure[i] = (DwLiveFigure){NAN, NAN, NAN, NAN, true, "Nothing has come in yet."};
    for (size_t i = 0; i < DW_LIVE_HUM_LINES; i++)
        figures->hum[i] = (DwLiveHumLine){settings->mains_hz * (double)(i + 1), NAN, false};
    return meter;
}

void dw_live_meter_free(DwLiveMeter *meter)
{
    if (!meter)
        return;
    free(meter->pending);
    dw_front_end_free(meter->front_end);
    free(meter->history[0].values);
    free(meter->history[1].values);
    dw_live_tone_free(meter->tone);
    dw_live_speed_free(meter->speed);
    dw_live_sides_free(meter->sides);
    dw_live_hum_free(meter->hum);
    free(meter);
}

const DwLiveFigures *dw_live_meter_figures(const DwLiveMeter *meter)
{
    return &meter->figures;
}

const DwLiveHistory *dw_live_meter_history(const DwLiveMeter *meter)
{
    return &meter->course;
}

const DwLiveSpectrum *dw_live_meter_spectrum(const DwLiveMeter *meter)
{
    return dw_live_speed_spectrum(meter->speed);
}

const DwLiveRaster *dw_live_meter_raster(const DwLiveMeter *meter)
{
    return dw_live_speed_raster(meter->speed);
}

void dw_live_meter_reset_marks(DwLiveMeter *meter)
{
    for (unsigned c = 0; c < meter->figures.channels; c++) {
        dw_live_level_reset_marks(&meter->level[c]);
        meter->figures.level[c] = meter->level[c].level;
    }
}

void dw_live_meter_forget_sides(DwLiveMeter *meter)
{
    if (meter->sides)
        dw_live_sides_forget(meter->sides);
}

// --- figures ------------------------------------------------------------------------

static void set(DwLiveMeter *meter, DwLiveFigureName name, double value, double uncertainty, double over_s)
{
    meter->figures.figure[name] = (DwLiveFigure){value, uncertainty, over_s, 0, false, ""};
}

// The figure keeps what it has, which is not of now.
static void __attribute__((format(printf, 3, 4)))
set_stale(DwLiveMeter *meter, DwLiveFigureName name, const char *format, ...)
{
    DwLiveFigure *figure = &meter->figures.figure[name];
    va_list arguments;
    figure->stale = true;
    va_start(arguments, format);
    dw_say_all_into(figure->why, sizeof figure->why, format, arguments);
    va_end(arguments);
}

static void __attribute__((format(printf, 3, 4)))
trouble(DwLiveMeter *meter, DwLiveTrouble kind, const char *format, ...)
{
    va_list arguments;
    meter->figures.trouble = kind;
    va_start(arguments, format);
    dw_say_all_into(meter->figures.why, sizeof meter->figures.why, format, arguments);
    va_end(arguments);
}

static double loudest_db(const DwLiveMeter *meter)
{
    double left = meter->level[0].level.peak_db;
    return meter->figures.channels > 1 ? fmax(left, meter->level[1].level.peak_db) : left;
}

// What stands in the way of figures, in words.
static void find_trouble(DwLiveMeter *meter)
{
    DwLiveToneState state = dw_live_tone_state(meter->tone);
    const DwToneRun *run = dw_live_tone_run(meter->tone);
    double loud_db = loudest_db(meter);
    bool is_heard = state == DW_LIVE_TONE_HEARD && run;
    if (meter->broken_s > 0)
        trouble(meter, DW_LIVE_BROKEN,
                "Samples are missing or are no numbers: the computer or the device was too slow.");
    else if (loud_db < QUIETEST_DB)
        trouble(meter, DW_LIVE_SILENT,
                "No signal: the input is below %.0f dBFS. Is the stylus down, the cable in, the "
                "right input chosen?",
                QUIETEST_DB);
    else if (is_heard && run->fit == DW_TONE_FOREIGN)
        trouble(meter, DW_LIVE_FOREIGN,
                "The steady tone is at %.1f Hz, %s. Give record.tone, the frequency on the record.", run->centre_hz,
                dw_said(isfinite(meter->settings.speed.tone_hz) ? "too far from record.tone for any speed"
                                                                : "none of 3150, 3000, 1000 or 315 Hz"));
    else if (is_heard)
        trouble(meter, DW_LIVE_GOOD, "%s", "");
    else if (state == DW_LIVE_TONE_WANDERED)
        trouble(meter, DW_LIVE_WANDERED,
                "The tone has left its place: the deck is changing speed, or the band has ended.");
    else if (state == DW_LIVE_TONE_NONE)
        trouble(meter, DW_LIVE_LISTENING, "Listening for a steady tone; there is sound at %.0f dBFS.", loud_db);
    else
        trouble(meter, DW_LIVE_LOST, "The tone has gone; what sounds at %.0f dBFS is none.", loud_db);
}

// --- speed --------------------------------------------------------------------------

static void set_settled(DwLiveMeter *meter, const DwLiveSpeedReading *r)
{
    double rpm = meter->settings.speed.speed_rpm / 100;
    const DwFluctuation *w = &r->weighted, *u = &r->unweighted;
    set(meter, DW_LIVE_SPEED_ERROR, r->mean, r->mean_off, r->over_s);
    set(meter, DW_LIVE_SPEED_MEAN, (100 + r->mean) * rpm, r->mean_off * rpm, r->over_s);
    set(meter, DW_LIVE_DRIFT, r->drift, r->drift_off, r->over_s);
    set(meter, DW_LIVE_WEIGHTED_TWO_SIGMA, w->two_sigma, w->two_sigma_off, r->over_s);
    set(meter, DW_LIVE_WEIGHTED_QUASI_PEAK, w->quasi_peak, w->quasi_peak_off, r->over_s);
    set(meter, DW_LIVE_WEIGHTED_RMS, w->rms, w->rms_off, r->over_s);
    set(meter, DW_LIVE_UNWEIGHTED_TWO_SIGMA, u->two_sigma, u->two_sigma_off, r->over_s);
    set(meter, DW_LIVE_UNWEIGHTED_QUASI_PEAK, u->quasi_peak, u->quasi_peak_off, r->over_s);
    set(meter, DW_LIVE_UNWEIGHTED_RMS, u->rms, u->rms_off, r->over_s);
    set(meter, DW_LIVE_WOW, r->wow, NAN, r->over_s);
    set(meter, DW_LIVE_FLUTTER, r->flutter, NAN, r->over_s);
    set(meter, DW_LIVE_FLOOR, r->floor, NAN, r->over_s);
    set(meter, DW_LIVE_ONCE_A_TURN, r->once, r->once_off, r->over_s);
}

static void update_speed(DwLiveMeter *meter)
{
    DwLiveFigures *figures = &meter->figures;
    const DwLiveSpeedReading *r = dw_live_speed_reading(meter->speed);
    const DwToneRun *run = dw_live_tone_run(meter->tone);
    bool is_good = figures->trouble == DW_LIVE_GOOD;
    const char *torn = "Too much of it was left out: the sound is torn, crackles or fades. Look at leads and "
                       "stylus; end what keeps the computer busy.";
    double turn_s = 60 / meter->settings.speed.speed_rpm;
    figures->steady_s = is_good ? r->steady_s : 0;
    figures->needed_s = r->needed_s;
    if (run) {
        double fast = isfinite(r->turn) ? r->turn : r->now;
        figures->fit = run->fit;
        figures->engraved_hz = run->engraved_hz;
        figures->tone_hz =
            isfinite(fast) && run->fit != DW_TONE_FOREIGN ? run->engraved_hz * (1 + fast / 100) : run->centre_hz;
    }
    for (DwLiveFigureName name = DW_LIVE_SPEED_NOW; name <= DW_LIVE_ONCE_A_TURN; name++)
        set_stale(meter, name, "%s", is_good ? dw_said(torn) : figures->why);
    if (!is_good)
        return;
    if (isfinite(r->now))
        set(meter, DW_LIVE_SPEED_NOW, r->now, r->now_off, 0.1);
    if (isfinite(r->turn))
        set(meter, DW_LIVE_SPEED_TURN, r->turn, r->turn_off, turn_s / (1 + r->turn / 100));
    else if (r->steady_s < turn_s)
        set_stale(meter, DW_LIVE_SPEED_TURN, "Not yet: a whole turn takes %.1f s.", turn_s);
    if (r->settled)
        set_settled(meter, r);
    else if (!r->torn)
        for (DwLiveFigureName name = DW_LIVE_SPEED_ERROR; name <= DW_LIVE_ONCE_A_TURN; name++)
            set_stale(meter, name, "Not yet: %.0f of %.1f s of steady tone heard; three turns are needed.",
                      floor(r->steady_s), r->needed_s);
}

// --- sides --------------------------------------------------------------------------

static void set_separation(DwLiveMeter *meter, const DwLiveSidesReading *r)
{
    bool right = r->kind == DW_BAND_RIGHT;
    DwLiveFigureName separation = right ? DW_LIVE_SEPARATION_RIGHT : DW_LIVE_SEPARATION_LEFT;
    DwLiveFigureName phase = right ? DW_LIVE_LEAK_PHASE_RIGHT : DW_LIVE_LEAK_PHASE_LEFT;
    set(meter, separation, r->separation_db, r->separation_off_db, 2);
    set(meter, phase, r->leak_phase_deg, NAN, 2);
    DwLiveFigure *figure = &meter->figures.figure[separation];
    if (!r->gain_known)
        dw_say_into(figure->why, sizeof figure->why,
                    "The channels' gains are taken as equal until the %s band was heard.",
                    dw_said(right ? "left" : "right"));
}

static void set_rotation(DwLiveMeter *meter, const DwLiveSidesReading *r)
{
    DwLiveFigure *figure = &meter->figures.figure[DW_LIVE_ROTATION];
    const char *other = dw_said(r->kind == DW_BAND_RIGHT ? "left" : "right");
    set(meter, DW_LIVE_ROTATION, r->rotation_deg, r->rotation_off_deg, 2);
    if (r->tilt == DW_LIVE_TILT_ONE_SIDE)
        dw_say_into(figure->why, sizeof figure->why,
                    "From one side only: a leak that is not tilt cannot be told from tilt. Play the %s band too.",
                    other);
    else if (r->other_side_s > WANTED_TILT_S)
        dw_say_into(figure->why, sizeof figure->why,
                    "The %s band was heard %.0f s ago; play it again if the pickup has been turned since.", other,
                    r->other_side_s);
    if (r->other_side_s > OLD_SIDE_S)
        figure->stale = true;
}

static const DwLiveFigureName side_figures[] = {
    DW_LIVE_BALANCE,          DW_LIVE_SEPARATION_LEFT, DW_LIVE_SEPARATION_RIGHT, DW_LIVE_LEAK_PHASE_LEFT,
    DW_LIVE_LEAK_PHASE_RIGHT, DW_LIVE_ROTATION,        DW_LIVE_POLARITY};
enum { SIDE_FIGURES = sizeof side_figures / sizeof *side_figures };

static void update_sides(DwLiveMeter *meter)
{
    DwLiveFigures *figures = &meter->figures;
    bool is_tone = figures->trouble <= DW_LIVE_FOREIGN;
    DwLiveSidesReading r = {0};
    if (is_tone && meter->sides)
        r = dw_live_sides_read(meter->sides);
    figures->sided = r.heard;
    figures->band = r.kind;
    const char *why = !meter->sides ? "The input has one channel."
                      : !is_tone    ? figures->why
                      : !r.heard    ? "Not yet: a second of a steady level is needed."
                                    : "";
    for (size_t i = 0; i < SIDE_FIGURES; i++)
        if (*why)
            set_stale(meter, side_figures[i], "%s", dw_said(why));
        else
            set_stale(meter, side_figures[i], "The band that plays now is %s.",
                      dw_said(r.kind <= DW_BAND_RIGHT ? "one-sided: no balance, and the other side's separation is held"
                                                      : "of both channels; the sides are told by one-sided bands"));
    if (!r.heard)
        return;
    if (r.kind <= DW_BAND_RIGHT) {
        set_separation(meter, &r);
        set_rotation(meter, &r);
        return;
    }
    set(meter, DW_LIVE_BALANCE, r.balance_db, NAN, 2);
    if (r.polarity)
        set(meter, DW_LIVE_POLARITY, r.polarity, NAN, 2);
    else
        set_stale(meter, DW_LIVE_POLARITY, "Only one channel is heard.");
}

// --- hum ----------------------------------------------------------------------------

static void read_hum(DwLiveMeter *meter, double tone)
{
    DwLiveFigures *figures = &meter->figures;
    double power = 0, over_s = (double)dw_live_hum_span() / meter->rate_hz;
    bool is_noisy = true;
    if (!dw_live_hum_read(meter->hum, meter->history, figures->hum)) {
        set_stale(meter, DW_LIVE_HUM, "Not yet: %.1f s of samples are needed.", over_s);
        return;
    }
    for (size_t i = 0; i < DW_LIVE_HUM_LINES; i++) {
        DwLiveHumLine *line = &figures->hum[i];
        if (fabs(line->frequency_hz - figures->tone_hz) < HUM_NEAR_HZ) {
            line->amplitude = NAN;
            continue;
        }
        power += line->amplitude * line->amplitude;
        is_noisy = is_noisy && line->noisy;
    }
    set(meter, DW_LIVE_HUM, 10 * log10(power) - 20 * log10(tone), NAN, over_s);
    if (is_noisy)
        dw_say_into(figures->figure[DW_LIVE_HUM].why, sizeof figures->figure[DW_LIVE_HUM].why,
                    "No hum stands out of the noise; this is what could hide in it.");
}

// The tone's amplitude in the stronger channel, over the last frames.
static double tone_amplitude(const DwToneRun *run)
{
    enum { SPAN = 250 };
    size_t count = run->count < SPAN ? run->count : SPAN;
    double sum = 0;
    for (size_t i = run->count - count; i < run->count; i++)
        sum += (double)run->amplitude[i];
    return sum / (double)count * fmax(run->share[0], run->share[1]);
}

static void update_hum(DwLiveMeter *meter)
{
    const DwToneRun *run = dw_live_tone_run(meter->tone);
    meter->hum_since_s += FRAME_S;
    meter->figures.tone_amplitude = run && run->count ? tone_amplitude(run) : NAN;
    if (meter->figures.trouble > DW_LIVE_FOREIGN || !run || run->count == 0) {
        set_stale(meter, DW_LIVE_HUM, "%s", meter->figures.why);
        return;
    }
    if (meter->hum_since_s < meter->settings.every_s - FRAME_S / 2)
        return;
    meter->hum_since_s = 0;
    read_hum(meter, meter->figures.tone_amplitude);
}

// --- the stream -----------------------------------------------------------------------

// What is no number becomes silence and is counted.
static size_t mend(float *samples, size_t count)
{
    size_t bad = 0;
    for (size_t i = 0; i < count; i++)
        if (!isfinite(samples[i])) {
            samples[i] = 0;
            bad++;
        }
    return bad;
}

static void filter_frame(DwLiveMeter *meter)
{
    unsigned channels = meter->figures.channels;
    for (size_t at = 0; at < meter->frame;) {
        size_t count = meter->frame - at < DW_FRONT_END_BLOCK ? meter->frame - at : DW_FRONT_END_BLOCK;
        DwFrontBlock block = dw_front_end_push(meter->front_end, meter->pending + at * channels, count, NAN);
        for (unsigned c = 0; c < channels; c++)
            dw_window_append(&meter->history[c], block.channel[c], block.count);
        at += count;
    }
    size_t end = dw_window_end(&meter->history[0]), keep = (size_t)(HISTORY_S * meter->rate_hz);
    for (unsigned c = 0; c < channels && end > keep; c++)
        dw_window_forget(&meter->history[c], end - keep);
}

void dw_live_meter_settle(DwLiveMeter *meter)
{
    if (meter->is_due)
        dw_live_speed_settle(meter->speed, meter->tone);
    meter->is_due = false;
}

static void grow_old(DwLiveFigures *figures)
{
    for (size_t i = 0; i < DW_LIVE_FIGURES; i++)
        figures->figure[i].age_s += FRAME_S;
}

static void take_frame(DwLiveMeter *meter)
{
    DwLiveFigures *figures = &meter->figures;
    unsigned channels = figures->channels;
    size_t bad = mend(meter->pending, meter->frame * channels);
    figures->bad_samples += bad;
    meter->broken_s = bad ? BROKEN_S : fmax(0, meter->broken_s - FRAME_S);
    for (unsigned c = 0; c < channels; c++) {
        dw_live_level_push(&meter->level[c], meter->pending + c, meter->frame, channels);
        figures->level[c] = meter->level[c].level;
    }
    filter_frame(meter);
    size_t runs = dw_live_tone_runs(meter->tone);
    dw_live_tone_take(meter->tone, meter->history);
    meter->is_due = dw_live_speed_take(meter->speed, meter->tone, FRAME_S) || meter->is_due;
    if (!meter->settings.settles_apart)
        dw_live_meter_settle(meter);
    if (meter->sides && dw_live_tone_runs(meter->tone) != runs)
        dw_live_sides_break(meter->sides);
    if (meter->sides)
        dw_live_sides_push(meter->sides, meter->pending, meter->frame);
    figures->frames++;
    figures->heard_s = (double)figures->frames * (double)meter->frame / meter->settings.speed.rate_hz;
    grow_old(figures);
    find_trouble(meter);
    update_speed(meter);
    const DwLiveFigure *turn = &figures->figure[DW_LIVE_SPEED_TURN];
    dw_live_history_push(&meter->course, FRAME_S, turn->stale ? NAN : turn->value);
    update_sides(meter);
    update_hum(meter);
}

size_t dw_live_meter_push(DwLiveMeter *meter, const float *interleaved, size_t frames)
{
    unsigned channels = meter->figures.channels;
    size_t done = 0;
    while (frames > 0) {
        size_t count = meter->frame - meter->pending_count;
        count = frames < count ? frames : count;
        for (size_t i = 0; i < count * channels; i++)
            meter->pending[meter->pending_count * channels + i] = interleaved[i];
        meter->pending_count += count;
        if (meter->pending_count == meter->frame) {
            take_frame(meter);
            meter->pending_count = 0;
            done++;
        }
        interleaved += count * channels;
        frames -= count;
    }
    return done;
}

void dw_live_meter_break(DwLiveMeter *meter)
{
    meter->pending_count = 0; // half a frame from before does not belong to what comes
    meter->broken_s = BROKEN_S;
    meter->figures.gaps++;
    dw_live_tone_break(meter->tone, dw_window_end(&meter->history[0]));
    if (meter->sides)
        dw_live_sides_break(meter->sides);
}
