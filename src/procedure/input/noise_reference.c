// SPDX-License-Identifier: MIT
#include "procedure/input/noise_reference.h"

#include "base/keyfile.h"
#include "base/text.h"
#include "physics/riaa.h"
#include "procedure/registry/limits.h"
#include "procedure/input/recording.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double ONE_CHANNEL = 10; // power ratio from which a tone is one channel's

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
    double lateral = one ? sqrt(2) * velocity_cm_s : velocity_cm_s;
    reference->own_level = isnan(velocity_cm_s);
    reference->rms = reference->own_level ? equalised : equalised * datum / (lateral * replay);
    if (reference->own_level)
        snprintf(reference->words, sizeof reference->words, "the %s tone of %.0f Hz, velocity not stated", direction,
                 tone->frequency_hz);
    else
        snprintf(reference->words, sizeof reference->words,
                 "%.4g cm/s peak lateral at 1 kHz, from the %s tone of %.0f Hz at %.4g cm/s peak", datum, direction,
                 tone->frequency_hz, velocity_cm_s);
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
    if (status == DW_OK)
        dw_noise_reference_refer(&tone, dw_inputs_word(inputs, "noise.reference_direction"),
                                 dw_inputs_in(inputs, "noise.reference_velocity", "cm/s"), inputs, reference);
    return status;
}

// Takes the points; LINE holds "Hz = dB".
static DwStatus take_point(const char *path, const DwKeyLine *line, DwNoiseCurve *curve, DwMessage *message)
{
    double frequency, level;
    const char *end = dw_text_number(line->key, &frequency);
    bool read = end && *end == '\0';
    end = dw_text_number(line->value, &level);
    if (read && end && *end == '\0' && dw_weighting_curve_add(&curve->points, frequency, level))
        return DW_OK;
    return dw_fail(
        message, DW_BAD_INPUT,
        "%s, line %u: %s = %s is no further point of a curve; write Hz = dB, frequencies rising, at most %d.", path,
        line->line, line->key, line->value, DW_WEIGHTING_CURVE_MOST);
}

DwStatus dw_noise_curve_read(const char *name, DwNoiseCurve *curve, DwMessage *message)
{
    char *path = dw_text_format("%s/weighting/%s.ini", dw_data_folder(), name);
    DwKeyfile file = {0};
    *curve = (DwNoiseCurve){0};
    DwStatus status = dw_keyfile_read(path, &file, message);
    for (size_t i = 0; status == DW_OK && i < file.count; i++)
        if (strcmp(file.lines[i].group, "points") == 0)
            status = take_point(path, &file.lines[i], curve, message);
    const char *title = dw_keyfile_value(&file, "curve", "name"),
               *standing = dw_keyfile_value(&file, "curve", "standing");
    if (status == DW_OK && (curve->points.count < 2 || !standing || !dw_keyfile_value(&file, "curve", "source")))
        status =
            dw_fail(message, DW_BAD_INPUT,
                    "%s must state standing and source under [curve], and two points or more under [points].", path);
    if (status == DW_OK) {
        snprintf(curve->name, sizeof curve->name, "%s", title ? title : name);
        snprintf(curve->source, sizeof curve->source, "%s", dw_keyfile_value(&file, "curve", "source"));
        curve->checked = strcmp(standing, "checked") == 0;
    }
    dw_keyfile_clear(&file);
    free(path);
    return status;
}
