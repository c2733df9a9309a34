// SPDX-License-Identifier: MIT
#include "synth/settings.h"

#include "base/memory.h"
#include "synth/random.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

// The frequency of the usual flutter band (IEC 60386), for a description that
// names none: a recording has to hold some tone.
#define USUAL_TONE_HZ 3150.0
#define HUMP_HARMONICS 8
#define LONGEST_BAND_S 3600.0
#define PLANNED_LEVEL_DB (-24.0) // leaves 100 µm of 315 Hz below full scale
#define RUN_UP_TO 100.0          // the run-up is over when 1/100 of the speed is missing

static double ratio_of(double level_db)
{
    return pow(10, level_db / 20);
}

// A level that may be left out: then nothing of it.
static double ratio_or_none(const DwInputs *inputs, const char *key)
{
    double level_db = dw_inputs_in(inputs, key, "dB");
    return isnan(level_db) ? 0 : ratio_of(level_db);
}

static DwSide side_of(const DwInputs *inputs, const char *key)
{
    const char *word = dw_inputs_word(inputs, key);
    if (strcmp(word, "left") == 0)
        return DW_SIDE_LEFT;
    if (strcmp(word, "right") == 0)
        return DW_SIDE_RIGHT;
    return strcmp(word, "both") == 0 ? DW_SIDE_BOTH : DW_SIDE_NONE;
}

static DwStatus read_bands(const DwInputs *inputs, const char *key, DwBands *bands, DwMessage *message)
{
    size_t count = dw_inputs_count(inputs, key);
    bands->bands = dw_memory_new(count, sizeof *bands->bands);
    for (; bands->count < count; bands->count++) {
        DwBand *band = &bands->bands[bands->count];
        dw_inputs_pair_in(inputs, key, bands->count, "Hz", "s", &band->tone_hz, &band->length_s);
        if (!(band->length_s >= 0.1 && band->length_s <= LONGEST_BAND_S))
            return dw_fail(message, DW_BAD_INPUT,
                           "%s: %g s is no length for a band. Give 0.1 to %g s, as in %s=315:10.", key, band->length_s,
                           LONGEST_BAND_S, key);
    }
    return DW_OK;
}

static DwStatus read_recording(const DwInputs *inputs, DwSettings *settings, DwMessage *message)
{
    settings->seed = (uint64_t)dw_inputs_in(inputs, "synth.seed", "");
    settings->rate_hz = dw_inputs_in(inputs, "synth.rate", "Hz");
    if (settings->rate_hz != floor(settings->rate_hz))
        return dw_fail(message, DW_BAD_INPUT, "synth.rate: %.10g Hz is not whole. Files hold a whole number of hertz.",
                       settings->rate_hz);
    double clock_error = dw_inputs_in(inputs, "chain.clock_error", "fraction");
    settings->clock_hz = settings->rate_hz * (1 + (isnan(clock_error) ? 0 : clock_error));
    settings->channels = dw_inputs_word(inputs, "synth.channels")[0] == '1' ? 1 : 2;
    settings->lead_silence_s = dw_inputs_in(inputs, "synth.lead_silence", "s");
    settings->lead_crackle_s = dw_inputs_in(inputs, "synth.lead_crackle", "s");
    settings->announcement_s = dw_inputs_in(inputs, "synth.announcement", "s");
    double tone_hz = dw_inputs_in(inputs, "record.tone", "Hz");
    settings->tone.tone_hz = isnan(tone_hz) ? USUAL_TONE_HZ : tone_hz;
    settings->tone.length_s = dw_inputs_in(inputs, "synth.length", "s");
    DwStatus status = read_bands(inputs, "synth.band_before", &settings->before, message);
    return status == DW_OK ? read_bands(inputs, "synth.band_after", &settings->after, message) : status;
}

// What only makes sense with two channels is refused for one, rather than
// doing nothing.
static DwStatus read_sides(const DwInputs *inputs, DwSettings *settings, DwMessage *message)
{
    settings->side = side_of(inputs, "synth.side");
    settings->dead = side_of(inputs, "fault.dead_channel");
    settings->reversed = side_of(inputs, "fault.reversed_channel");
    const char *wiring = dw_inputs_word(inputs, "fault.wiring");
    settings->wiring = strcmp(wiring, "swapped") == 0    ? DW_WIRING_SWAPPED
                       : strcmp(wiring, "strapped") == 0 ? DW_WIRING_STRAPPED
                                                         : DW_WIRING_CORRECT;
    if (settings->channels == 1 && (settings->side != DW_SIDE_BOTH || settings->dead || settings->reversed ||
                                    settings->wiring != DW_WIRING_CORRECT))
        return dw_fail(message, DW_BAD_INPUT,
                       "synth.channels=1 has no left and right. Leave out synth.side, fault.wiring, "
                       "fault.dead_channel and fault.reversed_channel, or make two channels.");
    if (!dw_inputs_given(inputs, "fault.separation"))
        return DW_OK;
    if (settings->side == DW_SIDE_BOTH)
        return dw_fail(message, DW_BAD_INPUT, "fault.separation needs a band in one side only. Add synth.side=left.");
    settings->leak = ratio_of(-dw_inputs_in(inputs, "fault.separation", "dB"));
    return DW_OK;
}

static DwStatus read_levels(const DwInputs *inputs, DwSettings *settings, DwMessage *message)
{
    bool planned = dw_inputs_given(inputs, "record.plan");
    settings->amplitude =
        ratio_of(planned && !dw_inputs_given(inputs, "synth.level") ? PLANNED_LEVEL_DB
                                                                    : dw_inputs_in(inputs, "synth.level", "dB"));
    double tone_rms = settings->amplitude * M_SQRT1_2;
    settings->noise_rms = tone_rms * ratio_of(-dw_inputs_in(inputs, "synth.snr", "dB"));
    settings->hum_hz = dw_inputs_in(inputs, "deck.mains", "Hz");
    settings->hum_peak = settings->amplitude * ratio_or_none(inputs, "fault.hum");
    settings->rumble_rms = tone_rms * ratio_or_none(inputs, "fault.rumble");
    settings->rumble_vertical_power = dw_inputs_in(inputs, "fault.rumble_vertical", "fraction");
    settings->clip = ratio_of(dw_inputs_in(inputs, "fault.clip", "dB"));
    settings->ticks_per_s = dw_inputs_in(inputs, "fault.ticks", "/s");
    settings->tick_peak = settings->amplitude * ratio_of(dw_inputs_in(inputs, "fault.tick_level", "dB"));
    settings->dropouts_per_s = dw_inputs_in(inputs, "fault.dropouts", "/s");
    settings->dropout_s = dw_inputs_in(inputs, "fault.dropout_length", "s");
    if (settings->dropouts_per_s * settings->dropout_s > 0.5)
        return dw_fail(message, DW_BAD_INPUT,
                       "fault.dropouts: %g a minute of %g ms each leave too little of the tone. "
                       "Make them fewer or shorter.",
                       settings->dropouts_per_s * 60, settings->dropout_s * 1000);
    double depth = 0;
    if (dw_inputs_pair_in(inputs, "fault.am", 0, "Hz", "%", &settings->am_hz, &depth) && !(depth > 0 && depth <= 100))
        return dw_fail(message, DW_BAD_INPUT, "fault.am: a depth of %g %% is out of range. It can be from 0 to 100 %%.",
                       depth);
    settings->am_depth = depth / 100;
    return DW_OK;
}

// Turns of the belt a second: stated, else π·(D + t)·n/L at the true mean
// speed n of the platter, for a rim D, a belt of thickness t and length L.
// Derivation: the middle of the belt's thickness runs at π·(D + t)·n.
static double belt_rate(const DwInputs *inputs, double rotation_hz)
{
    double stated_hz = dw_inputs_in(inputs, "synth.belt_rate", "Hz");
    if (!isnan(stated_hz))
        return stated_hz;
    double thickness_mm = dw_inputs_in(inputs, "drive.belt_thickness", "mm");
    double rim_mm = dw_inputs_in(inputs, "drive.rim_diameter", "mm") + (isnan(thickness_mm) ? 0 : thickness_mm);
    return M_PI * rim_mm * rotation_hz / dw_inputs_in(inputs, "drive.belt_length", "mm");
}

// A hump lifts the speed for a moment as it crosses the pulley: a train of
// Gaussian pulses, 1/16 of a belt turn in standard deviation (our choice), its
// mean left out so that the mean speed stays what was stated. A Gaussian's
// harmonics fall as exp(−(2π·k·σ)²/2).
static DwStatus add_belt_hump(const DwInputs *inputs, DwSettings *settings, DwRandom *random, DwMessage *message)
{
    double peak_percent = dw_inputs_in(inputs, "fault.belt_hump", "%");
    double start_rad = dw_random_between(random, 0, 2 * M_PI);
    if (peak_percent == 0)
        return DW_OK;
    double rate_hz = belt_rate(inputs, settings->rotation_hz);
    if (isnan(rate_hz))
        return dw_fail(message, DW_BAD_INPUT,
                       "fault.belt_hump needs the turns of the belt. Give synth.belt_rate in Hz, or drive.rim_diameter "
                       "and drive.belt_length.");
    double width_rad = 2 * M_PI / 16;
    for (int k = 1; k <= HUMP_HARMONICS; k++) {
        double share = exp(-(k * k - 1) * width_rad * width_rad / 2);
        dw_course_add(&settings->course, "belt hump", k * rate_hz, peak_percent * share, k * start_rad + M_PI / 2);
    }
    return DW_OK;
}

static DwStatus add_lines(const DwInputs *inputs, DwSettings *settings, DwRandom *random, DwMessage *message)
{
    double frequency_hz, peak_percent;
    for (size_t i = 0; dw_inputs_pair_in(inputs, "fault.line", i, "Hz", "%", &frequency_hz, &peak_percent); i++) {
        if (!(peak_percent > 0 && peak_percent <= 50))
            return dw_fail(message, DW_BAD_INPUT,
                           "fault.line: a peak of %g %% is out of range. It can be from 0 to 50 %%.", peak_percent);
        dw_course_add(&settings->course, "line", frequency_hz, peak_percent, dw_random_between(random, 0, 2 * M_PI));
    }
    return DW_OK;
}

// Once and twice a revolution: the deck's own wow, and the record's e/r, which
// leaves out the few per cent that an offset arm adds in quadrature.
static DwStatus add_platter_lines(const DwInputs *inputs, DwSettings *settings, DwMessage *message)
{
    DwCourse *course = &settings->course;
    double wow_percent = dw_inputs_in(inputs, "fault.wow", "%");
    double second_percent = dw_inputs_in(inputs, "fault.wow_second", "%");
    double eccentricity_mm = dw_inputs_in(inputs, "fault.eccentricity", "mm");
    double radius_mm = dw_inputs_in(inputs, "record.radius", "mm");
    if (wow_percent > 0)
        dw_course_add(course, "wow", settings->rotation_hz, wow_percent,
                      dw_inputs_in(inputs, "fault.wow_phase", "rad"));
    if (second_percent > 0)
        dw_course_add(course, "wow twice a revolution", 2 * settings->rotation_hz, second_percent, 0);
    if (eccentricity_mm == 0)
        return DW_OK;
    if (dw_inputs_given(inputs, "record.plan")) {
        dw_course_add_radial(course, "record off centre", settings->rotation_hz, 100 * eccentricity_mm,
                             dw_inputs_in(inputs, "fault.eccentricity_phase", "rad"));
        return DW_OK;
    }
    if (isnan(radius_mm))
        return dw_fail(
            message, DW_BAD_INPUT,
            "fault.eccentricity needs the radius it is heard at. Give record.radius, as in record.radius=100mm.");
    dw_course_add(course, "record off centre", settings->rotation_hz, 100 * eccentricity_mm / radius_mm,
                  dw_inputs_in(inputs, "fault.eccentricity_phase", "rad"));
    return DW_OK;
}

static DwStatus read_course(const DwInputs *inputs, DwSettings *settings, DwMessage *message)
{
    DwCourse *course = &settings->course;
    course->error = dw_inputs_in(inputs, "fault.speed_error", "fraction");
    course->drift_per_s = dw_inputs_in(inputs, "fault.drift", "fraction/s");
    course->run_up_s = dw_inputs_in(inputs, "fault.startup", "s") / log(RUN_UP_TO);
    settings->flutter_rms = dw_inputs_in(inputs, "fault.flutter_noise", "fraction");
    settings->rotation_hz = dw_inputs_in(inputs, "deck.speed", "Hz") * (1 + course->error);
    DwRandom random;
    dw_random_init(&random, settings->seed, DW_STREAM_LINES);
    DwStatus status = add_platter_lines(inputs, settings, message);
    if (status == DW_OK)
        status = add_belt_hump(inputs, settings, &random, message);
    if (status == DW_OK)
        status = add_lines(inputs, settings, &random, message);
    return status;
}

DwStatus dw_settings_read(const DwInputs *inputs, DwSettings *settings, DwMessage *message)
{
    *settings = (DwSettings){0};
    DwStatus status = read_recording(inputs, settings, message);
    if (status == DW_OK)
        status = read_sides(inputs, settings, message);
    if (status == DW_OK)
        status = read_levels(inputs, settings, message);
    if (status == DW_OK)
        status = read_course(inputs, settings, message);
    if (status != DW_OK)
        dw_settings_clear(settings);
    return status;
}

void dw_settings_clear(DwSettings *settings)
{
    free(settings->before.bands);
    free(settings->after.bands);
    dw_course_clear(&settings->course);
    *settings = (DwSettings){0};
}
