// SPDX-License-Identifier: MIT
#include "procedure/input/noise_reference.h"

#include "base/saying.h"
#include "base/text.h"
#include "measure/band/record_tolerance.h"
#include "physics/riaa.h"
#include "procedure/registry/data_table.h"
#include "procedure/input/recording.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double ONE_CHANNEL = 10; // power ratio from which a tone is one channel's
static const double STRONGER = 4;     // and from which it may be, where that is stated: a poor cartridge leaks as much
static const double IN_PHASE = 0.5;   // correlation of a tone of both channels

static const char *direction_of(const DwReferenceTone *tone, const char *stated)
{
    if (strcmp(stated, "auto") != 0)
        return stated;
    double left = tone->rms[0] * tone->rms[0], right = tone->rms[1] * tone->rms[1];
    if (left > ONE_CHANNEL * right)
        return "left";
    if (right > ONE_CHANNEL * left)
        return "right";
    return tone->correlation < 0 ? "vertical" : "lateral";
}

// Holds what is STATED of a recorded tone against its channels. *DIRECTION: what to go by.
static DwStatus check_channel(const DwReferenceTone *tone, const char *stated, const char **direction,
                              DwNoiseReference *reference, DwMessage *message)
{
    bool left = strcmp(stated, "left") == 0;
    double own = pow(tone->rms[!left], 2), other = pow(tone->rms[left], 2);
    if (own > STRONGER * other)
        return DW_OK;
    if (other < STRONGER * own)
        return dw_fail(message, DW_BAD_INPUT,
                       "The reference tone is stated to be of the %s channel, but both carry it. Correct "
                       "noise.reference_direction, or look at the wiring first (channels).",
                       stated);
    *direction = left ? "right" : "left";
    reference->doubt = left ? "The reference tone is stated to be of the left channel, but it is in the right one, and "
                              "was taken there: the leads are swapped, or the statement is wrong. Left and right stand "
                              "as recorded."
                            : "The reference tone is stated to be of the right channel, but it is in the left one, and "
                              "was taken there: the leads are swapped, or the statement is wrong. Left and right stand "
                              "as recorded.";
    return DW_OK;
}

static DwStatus check_both(const DwReferenceTone *tone, const char *stated, DwNoiseReference *reference,
                           DwMessage *message)
{
    const char *heard = direction_of(tone, "auto");
    bool vertical = strcmp(stated, "vertical") == 0;
    if (strcmp(heard, "left") == 0 || strcmp(heard, "right") == 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "The reference tone is stated to be %s, but only the %s channel carries it. Correct "
                       "noise.reference_direction, or look for the other channel first (channels).",
                       stated, heard);
    double with = vertical ? -tone->correlation : tone->correlation;
    reference->polarity_known = with > IN_PHASE;
    reference->reversed = with < -IN_PHASE;
    if (reference->reversed)
        reference->doubt =
            vertical
                ? "The reference tone is stated to be vertical, but its channels come in phase: one channel is "
                  "reversed, and lateral and vertical are given as if that were put right. If the band is a "
                  "lateral one, state that: then they are the other way."
                : "The reference tone is stated to be lateral, but its channels come in opposite phase: one channel "
                  "is reversed, and lateral and vertical are given as if that were put right. If the band is a "
                  "vertical one, state that: then they are the other way.";
    return DW_OK;
}

static DwStatus check_direction(const DwReferenceTone *tone, const char **direction, DwNoiseReference *reference,
                                DwMessage *message)
{
    const char *stated = *direction;
    if (tone->channels < 2)
        return DW_OK;
    if (strcmp(stated, "auto") == 0) {
        if (strcmp(direction_of(tone, stated), "vertical") == 0)
            reference->doubt = "The reference tone comes in opposite phase: it is a vertical band, or one channel is "
                               "reversed. State its direction to have lateral and vertical told apart.";
        return DW_OK;
    }
    if (strcmp(stated, "left") == 0 || strcmp(stated, "right") == 0)
        return check_channel(tone, stated, direction, reference, message);
    return check_both(tone, stated, reference, message);
}

// What one channel would read at the datum velocity, lateral, at 1 kHz. A
// lateral velocity v gives each channel v/√2, which a one-channel band states
// itself; the recording characteristic is undone by the replay curve, so that a
// tone of any frequency serves.
void dw_noise_reference_refer(const DwReferenceTone *tone, const char *stated_direction, double velocity_cm_s,
                              const DwInputs *inputs, DwNoiseReference *reference)
{
    const char *direction = direction_of(tone, stated_direction);
    bool left = strcmp(direction, "left") == 0, right = strcmp(direction, "right") == 0, one = left || right;
    double rms = one ? tone->rms[right] : sqrt(0.5 * (tone->rms[0] * tone->rms[0] + tone->rms[1] * tone->rms[1]));
    double replay = pow(10, dw_riaa_replay_db(tone->frequency_hz, false) / 20);
    bool applied = strcmp(dw_inputs_word(inputs, "response.riaa"), "applied") == 0;
    double equalised = applied ? rms : rms * replay; // as the silent groove is read
    double datum = dw_inputs_in(inputs, "noise.datum", "cm/s");
    double error_db = dw_inputs_in(inputs, "record.level_error", "dB");
    velocity_cm_s *= isfinite(error_db) ? pow(10, error_db / 20) : 1;
    double lateral = one ? sqrt(2) * velocity_cm_s : velocity_cm_s;
    reference->own_level = isnan(velocity_cm_s);
    reference->off_db = reference->own_level || tone->length_s <= 0 ? 0 : dw_record_tolerance_level_db();
    // The replay curve that brings a tone from elsewhere to 1 kHz is only as good as its parts.
    if (applied && reference->off_db > 0)
        reference->off_db = hypot(reference->off_db, dw_riaa_parts_off_db(tone->frequency_hz));
    reference->rms = reference->own_level ? equalised : equalised * datum / (lateral * replay);
    if (reference->own_level)
        return;
    char *words = dw_saying_phrase("%.4g cm/s peak lateral at 1 kHz, from the %s tone of %.0f Hz at %.4g cm/s peak",
                                   datum, direction, tone->frequency_hz, velocity_cm_s);
    snprintf(reference->words, sizeof reference->words, "%s", words);
    free(words);
}

static void take(void *user, const float *interleaved, size_t frames)
{
    dw_reference_tones_push(user, interleaved, frames);
}

static DwStatus measure_tone(const char *path, const DwInputs *seconds, DwReferenceTone *tone, DwMessage *message)
{
    DwRecording recording;
    DwStatus status = dw_recording_open(path, seconds, &recording, message);
    if (status != DW_OK)
        return status;
    DwReferenceTones *tones = dw_reference_tones_new(recording.rate_hz, recording.channels > 1 ? 2 : 1);
    status = dw_recording_play(&recording, take, tones, message);
    if (status == DW_OK && !dw_reference_tones_read(tones, tone))
        status = dw_fail(message, DW_BAD_INPUT,
                         "%s: no steady reference tone of half a second or more was found. Record the reference band "
                         "alone, or give noise.reference=from:to.",
                         path);
    dw_reference_tones_free(tones);
    dw_recording_close(&recording);
    return status;
}

// The tone between the seconds of noise.reference.
static DwStatus measure_stretch(const char *path, double from, double to, DwReferenceTone *tone, DwMessage *message)
{
    DwInputs *seconds = dw_inputs_new();
    char text[40];
    snprintf(text, sizeof text, "%.9g", from);
    DwStatus status = dw_inputs_set(seconds, "record.start", text, message);
    snprintf(text, sizeof text, "%.9g", to);
    if (status == DW_OK)
        status = dw_inputs_set(seconds, "record.end", text, message);
    if (status == DW_OK && to <= from)
        status = dw_fail(message, DW_BAD_INPUT, "noise.reference ends before it begins; give FROM:TO in seconds.");
    if (status == DW_OK)
        status = measure_tone(path, seconds, tone, message);
    dw_inputs_free(seconds);
    return status;
}

DwStatus dw_noise_reference_read(const char *path, const char *silence_path, const DwInputs *inputs,
                                 DwNoiseReference *reference, DwMessage *message)
{
    *reference = (DwNoiseReference){.rms = NAN};
    DwReferenceTone tone = {.correlation = 1};
    double from, to, level = dw_inputs_in(inputs, "noise.reference_level", "dB");
    DwStatus status = DW_OK;
    if (path) {
        DwInputs *whole = dw_inputs_new();
        status = measure_tone(path, whole, &tone, message);
        dw_inputs_free(whole);
    } else if (dw_inputs_pair_in(inputs, "noise.reference", 0, "s", "s", &from, &to))
        status = measure_stretch(silence_path, from, to, &tone, message);
    else if (isfinite(level)) {
        tone.frequency_hz = dw_inputs_in(inputs, "noise.reference_tone", "Hz");
        tone.rms[0] = tone.rms[1] = pow(10, level / 20) / sqrt(2);
    } else
        return DW_OK;
    const char *direction = dw_inputs_word(inputs, "noise.reference_direction");
    if (status == DW_OK)
        status = check_direction(&tone, &direction, reference, message);
    if (status == DW_OK)
        dw_noise_reference_refer(&tone, direction, dw_inputs_in(inputs, "noise.reference_velocity", "cm/s"), inputs,
                                 reference);
    return status;
}

// Takes the points; LINE holds "Hz = dB".
static DwStatus take_point(const DwDataTable *table, const DwKeyLine *line, DwNoiseCurve *curve, DwMessage *message)
{
    DwKeyLine frequency_line = {.key = line->key, .value = line->key, .line = line->line};
    double frequency_hz, level_db;
    DwStatus status =
        dw_data_table_number(table, &frequency_line, DW_DIMENSION_FREQUENCY, "Hz", &frequency_hz, message);
    if (status == DW_OK)
        status = dw_data_table_number(table, line, DW_DIMENSION_LEVEL, "dB", &level_db, message);
    if (status != DW_OK || dw_weighting_curve_add(&curve->points, frequency_hz, level_db))
        return status;
    return dw_fail(
        message, DW_BAD_INPUT,
        "%s: line %u: %s = %s is no further point of a curve; write Hz = dB, frequencies rising, at most %d.",
        table->path, line->line, line->key, line->value, DW_WEIGHTING_CURVE_MOST);
}

static DwStatus take_head(const DwDataTable *table, const char *name, DwNoiseCurve *curve, DwMessage *message)
{
    const DwKeyLine *title = dw_data_table_line(table, "curve", "name"),
                    *standing = dw_data_table_line(table, "curve", "standing"),
                    *source = dw_data_table_line(table, "curve", "source");
    if (curve->points.count < 2 || !standing || !source)
        return dw_fail(message, DW_BAD_INPUT,
                       "%s must state standing and source under [curve], and two points or more under [points].",
                       table->path);
    curve->checked = strcmp(standing->value, "checked") == 0;
    if (!curve->checked && strcmp(standing->value, "unsure") != 0)
        return dw_fail(message, DW_BAD_INPUT, "%s: line %u: standing is 'checked' or 'unsure', not '%s'.", table->path,
                       standing->line, standing->value);
    snprintf(curve->name, sizeof curve->name, "%s", title ? title->value : name);
    snprintf(curve->source, sizeof curve->source, "%s", source->value);
    return DW_OK;
}

DwStatus dw_noise_curve_read(const char *name, DwNoiseCurve *curve, DwMessage *message)
{
    static const char *const keys[] = {"name", "standing", "source", NULL};
    static const DwDataGroup groups[] = {{"curve", keys}, {"points", NULL}};
    char *file = dw_text_format("weighting/%s.ini", name);
    DwDataTable table;
    *curve = (DwNoiseCurve){0};
    DwStatus status = dw_data_table_read(file, groups, sizeof groups / sizeof *groups, &table, message);
    for (size_t i = 0; status == DW_OK && i < table.file.count; i++)
        if (strcmp(table.file.lines[i].group, "points") == 0)
            status = take_point(&table, &table.file.lines[i], curve, message);
    if (status == DW_OK && table.missing)
        snprintf(curve->missing, sizeof curve->missing, "%s", table.missing);
    else if (status == DW_OK)
        status = take_head(&table, name, curve, message);
    dw_data_table_clear(&table);
    free(file);
    return status;
}
