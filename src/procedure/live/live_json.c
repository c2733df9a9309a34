// SPDX-License-Identifier: MIT
#include "procedure/live/live_json.h"

#include "base/json_text.h"

#include <math.h>

enum { FORMAT_VERSION = 1, RASTER_DIGITS = 4, EXTRA_DIGITS = 2 };

static const char *state_word(DwLiveState state)
{
    static const char *const words[] = {"stopped", "running", "ended", "failed", "away"};
    return words[state];
}

static const char *trouble_word(DwLiveTrouble trouble)
{
    static const char *const words[] = {"none", "foreign", "listening", "wandered",
                                        "lost", "silent",  "broken",    "waiting"};
    return words[trouble];
}

static const char *fit_word(DwToneFit fit)
{
    static const char *const words[] = {"foreign", "other speed", "expected"};
    return words[fit];
}

static void write_tone(DwJsonText *json, const DwLiveFigures *figures)
{
    bool is_there = figures->trouble <= DW_LIVE_FOREIGN;
    dw_json_text_begin(json, "tone", '{');
    dw_json_text_number(json, "hz", is_there ? figures->tone_hz : NAN, 3);
    dw_json_text_number(json, "engraved_hz", is_there ? figures->engraved_hz : NAN, 3);
    dw_json_text_word(json, "fit", is_there ? fit_word(figures->fit) : NULL);
    dw_json_text_number(json, "level_db", is_there ? 20 * log10(figures->tone_amplitude) : NAN, 2);
    dw_json_text_number(json, "steady_s", figures->steady_s, 1);
    dw_json_text_number(json, "needed_s", figures->needed_s, 1);
    dw_json_text_word(json, "band", figures->sided ? dw_tone_band_word(figures->band) : NULL);
    dw_json_text_end(json, '}');
}

static void write_limit(DwJsonText *json, const DwLiveLimit *limit)
{
    if (!limit->stated) {
        dw_json_text_word(json, "limit", NULL);
        return;
    }
    dw_json_text_begin(json, "limit", '{');
    dw_json_text_number(json, "low", limit->allowed.low, 6);
    dw_json_text_number(json, "high", limit->allowed.high, 6);
    dw_json_text_number(json, "good_low", limit->good.low, 6);
    dw_json_text_number(json, "good_high", limit->good.high, 6);
    dw_json_text_word(json, "source", limit->source);
    dw_json_text_end(json, '}');
}

static void write_figures(DwJsonText *json, const DwLiveSnapshot *snapshot)
{
    dw_json_text_begin(json, "figures", '{');
    for (size_t i = 0; i < DW_LIVE_FIGURES; i++) {
        const DwLiveFigureKind *kind = dw_live_figure_kind((DwLiveFigureName)i);
        const DwLiveFigure *figure = &snapshot->figures.figure[i];
        dw_json_text_begin(json, kind->key, '{');
        dw_json_text_word(json, "label", kind->label);
        dw_json_text_number(json, "value", figure->value, kind->digits + EXTRA_DIGITS);
        dw_json_text_word(json, "unit", kind->unit);
        dw_json_text_count(json, "digits", (uint64_t)kind->digits);
        dw_json_text_number(json, "uncertainty", figure->uncertainty, kind->digits + EXTRA_DIGITS);
        dw_json_text_number(json, "over_s", figure->over_s, 2);
        dw_json_text_number(json, "age_s", figure->age_s, 2);
        dw_json_text_flag(json, "stale", figure->stale);
        dw_json_text_word(json, "why", figure->why);
        write_limit(json, &snapshot->limit[i]);
        dw_json_text_end(json, '}');
    }
    dw_json_text_end(json, '}');
}

static void write_levels(DwJsonText *json, const DwLiveFigures *figures)
{
    static const char *const names[] = {"left", "right"};
    dw_json_text_begin(json, "levels", '[');
    for (unsigned c = 0; c < figures->channels; c++) {
        const DwLiveLevel *level = &figures->level[c];
        dw_json_text_begin(json, NULL, '{');
        dw_json_text_word(json, "channel", figures->channels > 1 ? names[c] : "mono");
        dw_json_text_number(json, "peak_db", level->peak_db, 2);
        dw_json_text_number(json, "rms_db", level->rms_db, 2);
        dw_json_text_number(json, "held_peak_db", level->held_peak_db, 2);
        dw_json_text_count(json, "clipped", level->clipped);
        dw_json_text_flag(json, "clipping", level->clipping);
        dw_json_text_end(json, '}');
    }
    dw_json_text_end(json, ']');
}

static void write_hum(DwJsonText *json, const DwLiveFigures *figures)
{
    dw_json_text_begin(json, "hum", '[');
    for (size_t i = 0; i < DW_LIVE_HUM_LINES; i++) {
        const DwLiveHumLine *line = &figures->hum[i];
        dw_json_text_begin(json, NULL, '{');
        dw_json_text_number(json, "hz", line->frequency_hz, 1);
        dw_json_text_number(json, "level_db", 20 * log10(line->amplitude), 1);
        dw_json_text_number(json, "under_tone_db", 20 * log10(line->amplitude / figures->tone_amplitude), 1);
        dw_json_text_flag(json, "noisy", line->noisy);
        dw_json_text_end(json, '}');
    }
    dw_json_text_end(json, ']');
}

static void write_turn(DwJsonText *json, const DwLiveRaster *raster, uint64_t turn)
{
    const float *row = raster->value[turn % DW_LIVE_TURNS];
    bool grows = turn + 1 == raster->begun;
    dw_json_text_begin(json, NULL, '{');
    dw_json_text_count(json, "turn", turn);
    dw_json_text_begin(json, "values", '[');
    for (size_t i = 0; i < (grows ? raster->cells : DW_LIVE_CELLS); i++)
        dw_json_text_number(json, NULL, (double)row[i], RASTER_DIGITS);
    dw_json_text_end(json, ']');
    dw_json_text_end(json, '}');
}

static void write_raster(DwJsonText *json, const DwLiveRaster *raster, uint64_t from_turn)
{
    uint64_t first = dw_live_raster_first(raster);
    dw_json_text_begin(json, "raster", '{');
    dw_json_text_word(json, "unit", "%");
    dw_json_text_count(json, "cells", DW_LIVE_CELLS);
    dw_json_text_count(json, "first", first);
    dw_json_text_count(json, "begun", raster->begun);
    dw_json_text_begin(json, "rows", '[');
    for (uint64_t turn = from_turn > first ? from_turn : first; turn < raster->begun; turn++)
        write_turn(json, raster, turn);
    dw_json_text_end(json, ']');
    dw_json_text_end(json, '}');
}

static void write_clock(DwJsonText *json, const DwLiveClock *clock)
{
    dw_json_text_begin(json, "clock", '{');
    dw_json_text_number(json, "error_ppm", clock->error_ppm, 2);
    dw_json_text_number(json, "uncertainty_ppm", clock->off_ppm, 2);
    dw_json_text_number(json, "over_s", clock->over_s, 0);
    dw_json_text_flag(json, "sure", clock->is_sure);
    dw_json_text_word(json, "why", clock->why);
    dw_json_text_end(json, '}');
}

static void write_origin(DwJsonText *json, const DwSourceOrigin *origin)
{
    if (!*origin->device) {
        dw_json_text_word(json, "device", NULL);
        return;
    }
    dw_json_text_begin(json, "device", '{');
    dw_json_text_word(json, "label", origin->device);
    dw_json_text_number(json, "rate", origin->rate_hz, 0);
    dw_json_text_count(json, "channels", origin->channels);
    dw_json_text_count(json, "bits", origin->bits);
    dw_json_text_number(json, "gain_db", origin->gain_db, 2);
    dw_json_text_number(json, "uneven_db", origin->uneven_db, 2);
    dw_json_text_flag(json, "muted", origin->is_muted);
    dw_json_text_flag(json, "resampled", origin->is_resampled);
    dw_json_text_flag(json, "unsure", origin->is_unsure);
    dw_json_text_end(json, '}');
}

static void write_take(DwJsonText *json, const DwLiveSnapshot *snapshot)
{
    double frames = (double)(snapshot->position - snapshot->take_from);
    dw_json_text_begin(json, "take", '{');
    dw_json_text_number(json, "held_s", *snapshot->take_why ? 0 : frames / snapshot->rate_hz, 2);
    dw_json_text_word(json, "why", snapshot->take_why);
    dw_json_text_begin(json, "stretches", '[');
    for (size_t i = 0; i < snapshot->stretches; i++) {
        const DwLiveStretch *stretch = &snapshot->stretch[i];
        dw_json_text_begin(json, NULL, '{');
        dw_json_text_count(json, "until", stretch->to);
        dw_json_text_number(json, "held_s", (double)(stretch->to - stretch->from) / snapshot->rate_hz, 2);
        dw_json_text_end(json, '}');
    }
    dw_json_text_end(json, ']');
    dw_json_text_end(json, '}');
}

char *dw_live_snapshot_json(const DwLiveSnapshot *snapshot, uint64_t from_turn)
{
    const DwLiveFigures *figures = &snapshot->figures;
    DwJsonText json = {0};
    dw_json_text_begin(&json, NULL, '{');
    dw_json_text_count(&json, "deckwright_live", FORMAT_VERSION);
    dw_json_text_count(&json, "seq", snapshot->seq);
    dw_json_text_word(&json, "state", state_word(snapshot->state));
    dw_json_text_word(&json, "trouble", trouble_word(figures->trouble));
    dw_json_text_flag(&json, "stale", figures->trouble > DW_LIVE_FOREIGN);
    dw_json_text_word(&json, "why", *snapshot->why ? snapshot->why : figures->why);
    dw_json_text_word(&json, "input", snapshot->input);
    dw_json_text_word(&json, "format", snapshot->format);
    dw_json_text_number(&json, "rate", snapshot->rate_hz, 3);
    dw_json_text_count(&json, "channels", snapshot->channels);
    dw_json_text_count(&json, "position", snapshot->position);
    dw_json_text_number(&json, "heard_s", figures->heard_s, 2);
    dw_json_text_number(&json, "since_samples_s", snapshot->since_samples_s, 2);
    dw_json_text_count(&json, "gaps", figures->gaps);
    dw_json_text_number(&json, "lost_s", snapshot->lost_s, 3);
    dw_json_text_word(&json, "remark", snapshot->remark);
    write_origin(&json, &snapshot->origin);
    dw_json_text_count(&json, "bad_samples", figures->bad_samples);
    dw_json_text_number(&json, "nominal_rpm", figures->speed_rpm, 4);
    write_tone(&json, figures);
    write_figures(&json, snapshot);
    write_levels(&json, figures);
    write_hum(&json, figures);
    write_raster(&json, &snapshot->raster, from_turn);
    write_clock(&json, &snapshot->clock);
    write_take(&json, snapshot);
    dw_json_text_end(&json, '}');
    return dw_json_text_take(&json);
}

// --- what changes once a second -------------------------------------------------------

static void write_history(DwJsonText *json, const DwLiveHistory *history, uint64_t from)
{
    uint64_t first = dw_live_history_first(history);
    from = from > history->ended ? first : from; // of another start
    from = from > first ? from : first;
    dw_json_text_begin(json, "history", '{');
    dw_json_text_count(json, "first", first);
    dw_json_text_count(json, "from", from);
    dw_json_text_count(json, "ended", history->ended);
    dw_json_text_begin(json, "values", '[');
    for (uint64_t t = from; t < history->ended; t++)
        dw_json_text_number(json, NULL, history->percent[t % DW_LIVE_SECONDS], 4);
    dw_json_text_end(json, ']');
    dw_json_text_end(json, '}');
}

static void write_spectrum(DwJsonText *json, const DwLiveSpectrum *spectrum)
{
    dw_json_text_begin(json, "spectrum", '{');
    dw_json_text_number(json, "over_s", spectrum->over_s, 1);
    dw_json_text_number(json, "low_hz", dw_live_spectrum_low_hz, 3);
    dw_json_text_number(json, "high_hz", dw_live_spectrum_high_hz, 3);
    dw_json_text_begin(json, "percent", '[');
    for (size_t i = 0; spectrum->over_s > 0 && i < DW_LIVE_BINS; i++)
        dw_json_text_number(json, NULL, spectrum->percent[i], 5);
    dw_json_text_end(json, ']');
    dw_json_text_begin(json, "lines", '[');
    for (size_t i = 0; i < spectrum->lines; i++) {
        dw_json_text_begin(json, NULL, '{');
        dw_json_text_number(json, "hz", spectrum->line[i].hz, 3);
        dw_json_text_number(json, "percent", spectrum->line[i].percent, 4);
        dw_json_text_number(json, "order", spectrum->line[i].order, 3);
        dw_json_text_word(json, "part", spectrum->line[i].part);
        dw_json_text_end(json, '}');
    }
    dw_json_text_end(json, ']');
    dw_json_text_begin(json, "marks", '[');
    for (size_t i = 0; i < spectrum->marks; i++) {
        dw_json_text_begin(json, NULL, '{');
        dw_json_text_number(json, "hz", spectrum->mark[i].hz, 3);
        dw_json_text_word(json, "part", spectrum->mark[i].part);
        dw_json_text_end(json, '}');
    }
    dw_json_text_end(json, ']');
    dw_json_text_end(json, '}');
}

char *dw_live_slow_json(const DwLiveSnapshot *snapshot, uint64_t from_second)
{
    DwJsonText json = {0};
    dw_json_text_begin(&json, NULL, '{');
    dw_json_text_count(&json, "deckwright_live", FORMAT_VERSION);
    dw_json_text_count(&json, "seq", snapshot->seq);
    write_history(&json, &snapshot->history, from_second);
    write_spectrum(&json, &snapshot->spectrum);
    dw_json_text_end(&json, '}');
    return dw_json_text_take(&json);
}
