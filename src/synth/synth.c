// SPDX-License-Identifier: MIT
#include "synth/synth.h"

#include "base/memory.h"
#include "base/place.h"
#include "synth/band_noise.h"
#include "synth/crackle.h"
#include "synth/music.h"
#include "synth/programme.h"
#include "synth/voice.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#define RUN_IN_TICKS_PER_S 25.0 // and of the run-in groove; our choice
#define RUN_IN_LEVEL 0.5
#define RUN_IN_SPREAD_DB 34.0
#define DROPOUT_EDGE_S 1e-3
#define DROPOUT_DEAD_S 5e-3 // between two of them

static const DwRange rumble_band_hz = {5, 50};
// Harmonics of the hum under its fundamental [ratio]: odd ones stronger, as
// from the field of a mains transformer or motor; our choice.
static const double hum_harmonics[] = {1, 0.25, 0.5, 0.125, 0.25};

struct DwSynth {
    DwSettings settings;
    DwProgramme programme;
    DwSynthTruth truth;
    DwRecordSide *side; // NULL when one tone or music is played
    DwMusic *music;     // NULL when it is none
    double first;       // the frame at which the tone starts
    double frame;       // to be made next
    size_t part;        // which it belongs to
    DwRandom noise[2];
    DwBandNoise flutter, lateral, vertical;
    double flutter_gained_s; // of the record, by random flutter so far
    DwCrackle ticks, run_in;
    DwEvents dropouts;
    double dropout_start;                 // -INFINITY for none yet
    DwEvents ticks_begun, dropouts_begun; // as before the first frame, to list them
    DwVoice voice;
};

static double seconds_of(const DwSynth *synth, double frame)
{
    return (frame - synth->first) / synth->settings.clock_hz;
}

// ---- making ---------------------------------------------------------------

static double highest_tone(const DwProgramme *programme)
{
    double highest = 0;
    for (size_t i = 0; i < programme->count; i++)
        highest = fmax(highest, programme->parts[i].tone_hz);
    return highest;
}

// The speed may neither fall to nothing nor lift a tone out of what the rate
// can hold; both would be a recording of something else than was stated. The
// record is played from FROM_S to TO_S after the course's zero.
static DwStatus check_speed(const DwSettings *settings, double from_s, double to_s, double highest_hz,
                            DwMessage *message)
{
    const DwCourse *course = &settings->course;
    double swing = 5 * settings->flutter_rms;
    for (size_t i = 0; i < course->count; i++)
        swing += dw_course_peak(course, &course->lines[i]);
    double drifts[] = {course->drift_per_s * from_s, course->drift_per_s * to_s};
    double slowest = 1 + course->error + fmin(drifts[0], drifts[1]) - swing;
    double fastest = 1 + course->error + fmax(drifts[0], drifts[1]) + swing;
    if (slowest <= 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "The speed would fall to nothing: error, drift and lines together reach "
                       "%.1f %%. Make fault.drift, fault.line or the wow smaller.",
                       100 * (slowest - 1));
    double played_hz = highest_hz * fastest;
    if (played_hz >= settings->clock_hz / 2)
        return dw_fail(message, DW_BAD_INPUT,
                       settings->music
                           ? "A tone of %.0f Hz does not fit below half of synth.rate=%.0f. Choose a higher "
                             "rate: music goes up to 14 kHz."
                           : "A tone of %.0f Hz does not fit below half of synth.rate=%.0f. Choose a higher "
                             "rate or a lower tone.",
                       played_hz, settings->rate_hz);
    return DW_OK;
}

static void start_sources(DwSynth *synth)
{
    const DwSettings *settings = &synth->settings;
    const DwProgramme *programme = &synth->programme;
    uint64_t seed = settings->seed;
    double rate_hz = settings->clock_hz;
    dw_random_init(&synth->noise[0], seed, DW_STREAM_NOISE_LEFT);
    dw_random_init(&synth->noise[1], seed, DW_STREAM_NOISE_RIGHT);
    dw_band_noise_init(&synth->flutter, seed, DW_STREAM_FLUTTER, DW_FLUTTER_LOW_HZ, DW_FLUTTER_HIGH_HZ, rate_hz);
    dw_band_noise_init(&synth->lateral, seed, DW_STREAM_RUMBLE_LATERAL, rumble_band_hz.low, rumble_band_hz.high,
                       rate_hz);
    dw_band_noise_init(&synth->vertical, seed, DW_STREAM_RUMBLE_VERTICAL, rumble_band_hz.low, rumble_band_hz.high,
                       rate_hz);
    DwCrackleRange ticks = {settings->ticks_per_s, programme->groove, programme->frames, settings->tick_peak, 0};
    dw_crackle_init(&synth->ticks, seed, DW_STREAM_TICK_TIMES, DW_STREAM_TICK_SHAPES, rate_hz, &ticks);
    DwCrackleRange run_in = {RUN_IN_TICKS_PER_S, programme->groove,
                             programme->groove + round(settings->lead_crackle_s * rate_hz),
                             settings->amplitude * RUN_IN_LEVEL, RUN_IN_SPREAD_DB};
    dw_crackle_init(&synth->run_in, seed, DW_STREAM_LEAD_TIMES, DW_STREAM_LEAD_SHAPES, rate_hz, &run_in);
    dw_events_init(&synth->dropouts, seed, DW_STREAM_DROPOUTS, settings->dropouts_per_s / rate_hz,
                   (settings->dropout_s + DROPOUT_DEAD_S) * rate_hz, programme->groove);
    synth->dropout_start = -INFINITY;
    synth->ticks_begun = synth->ticks.events;
    synth->dropouts_begun = synth->dropouts;
    // The voice is played at the mean speed: nobody measures wow on it.
    dw_voice_init(&synth->voice, seed, rate_hz, 1 + settings->course.error);
}

static void fill_truth(DwSynth *synth)
{
    const DwSettings *settings = &synth->settings;
    const DwCourse *course = &settings->course;
    const DwProgrammePart *tone = &synth->programme.parts[synth->programme.tone];
    double length_s = (tone->end - tone->begin) / settings->clock_hz;
    synth->truth = (DwSynthTruth){
        .tone_hz = synth->side || synth->music ? NAN : tone->tone_hz,
        .tone_start_s = tone->begin / settings->clock_hz,
        .tone_end_s = tone->end / settings->clock_hz,
        .rotation_hz = settings->rotation_hz,
        .steady_error_percent = 100 * (course->error + course->drift_per_s * length_s / 2),
        .mean_error_percent = 100 * (course->error + dw_course_gained(course, length_s) / length_s),
        .drift_percent_per_min = 6000 * course->drift_per_s,
        .lines = course->lines,
        .line_count = course->count,
        .ticks = dw_synth_ticks(synth, NULL, 0),
        .dropouts = dw_synth_dropouts(synth, NULL, 0),
        .tone_peak = settings->amplitude,
        .noise_rms = settings->noise_rms,
        .rumble_lateral_rms = settings->rumble_rms * sqrt(1 - settings->rumble_vertical_power),
        .rumble_vertical_rms = settings->rumble_rms * sqrt(settings->rumble_vertical_power),
        .hum_peak = settings->hum_peak,
    };
}

// Puts the piece in the tone's place: all of it, or as much as synth.length says.
static DwStatus read_music(DwSynth *synth, const DwInputs *inputs, DwMessage *message)
{
    DwMusicPlan plan;
    DwBand *tone = &synth->settings.tone;
    char *path = dw_data_path("music", dw_inputs_word(inputs, "synth.music"), ".music");
    DwStatus status = dw_music_plan_read(path, &plan, message);
    free(path);
    if (status != DW_OK)
        return status;
    if (dw_inputs_given(inputs, "synth.length") && tone->length_s > plan.end_s + 0.1) {
        double end_s = plan.end_s;
        dw_music_plan_clear(&plan);
        return dw_fail(message, DW_BAD_INPUT,
                       "The piece lasts %.1f s and synth.length asks for %.1f s. Make it shorter, or leave it out for "
                       "all of the piece.",
                       end_s, tone->length_s);
    }
    if (!dw_inputs_given(inputs, "synth.length"))
        tone->length_s = plan.end_s / (1 + synth->settings.course.error);
    tone->tone_hz = DW_MUSIC_TOP_HZ;
    synth->settings.music = true;
    synth->music = dw_music_new(&plan);
    return DW_OK;
}

static DwStatus make_tone(DwSynth *synth, const DwInputs *inputs, DwMessage *message)
{
    DwProgramme *programme = &synth->programme;
    DwStatus status = dw_inputs_given(inputs, "synth.music") ? read_music(synth, inputs, message) : DW_OK;
    if (status != DW_OK)
        return status;
    dw_programme_make(&synth->settings, programme);
    synth->first = programme->parts[programme->tone].begin;
    synth->settings.course.lead_s = synth->first / synth->settings.clock_hz;
    dw_course_close(&synth->settings.course);
    return check_speed(&synth->settings, seconds_of(synth, 0), seconds_of(synth, programme->frames),
                       highest_tone(programme), message);
}

// Radii fall along a side; what hangs on them is worst at its end.
static DwStatus check_side(DwSettings *settings, const DwSideInputs *inputs, double speed_rpm, DwMessage *message)
{
    const DwEngraving *engraving = &inputs->engraving;
    if (fabs(speed_rpm / inputs->plan.speed_rpm - 1) > 0.01)
        return dw_fail(message, DW_BAD_INPUT,
                       "The plan is of a record for %.4g rpm and deck.speed is %.4g rpm. Give deck.speed=%.6g, and "
                       "fault.speed_error for a deck that is off it.",
                       inputs->plan.speed_rpm, speed_rpm, inputs->plan.speed_rpm);
    settings->course.radius_mm = engraving->parts[engraving->count - 1].radius_mm;
    double length_s = engraving->end_s / (1 + settings->course.error);
    return check_speed(settings, 0, length_s, dw_record_side_highest_hz(inputs), message);
}

static DwStatus make_side(DwSynth *synth, const DwInputs *inputs, DwMessage *message)
{
    DwSettings *settings = &synth->settings;
    DwSideInputs described;
    DwStatus status = dw_side_inputs_read(inputs, settings, &described, message);
    if (status != DW_OK)
        return status;
    settings->course.lead_s = round(settings->lead_silence_s * settings->clock_hz) / settings->clock_hz;
    status = check_side(settings, &described, dw_inputs_in(inputs, "deck.speed", "rpm"), message);
    if (status == DW_OK) {
        settings->course.radius_mm = described.engraving.parts[0].radius_mm;
        dw_course_close(&settings->course);
        settings->lead_crackle_s = fmax(0, settings->lead_crackle_s - described.from_s);
        synth->side = dw_record_side_new(&described, settings, settings->course.lead_s);
        dw_programme_make_side(settings, dw_record_side_length_s(synth->side), &synth->programme);
        synth->first = synth->programme.groove;
    }
    dw_side_inputs_clear(&described);
    return status;
}

DwStatus dw_synth_new(const DwInputs *inputs, DwSynth **synth, DwMessage *message)
{
    DwSynth *made = dw_memory_new(1, sizeof *made);
    DwStatus status = dw_side_inputs_check(inputs, message);
    if (status == DW_OK)
        status = dw_settings_read(inputs, &made->settings, message);
    if (status == DW_OK)
        status = dw_side_inputs_planned(inputs) ? make_side(made, inputs, message) : make_tone(made, inputs, message);
    if (status != DW_OK) {
        dw_synth_free(made);
        return status;
    }
    start_sources(made);
    fill_truth(made);
    *synth = made;
    return DW_OK;
}

void dw_synth_free(DwSynth *synth)
{
    if (!synth)
        return;
    dw_record_side_free(synth->side);
    dw_music_free(synth->music);
    dw_settings_clear(&synth->settings);
    dw_programme_clear(&synth->programme);
    free(synth);
}

// ---- playing --------------------------------------------------------------

// The part after the point of STEP · COUNT, without the rounding of a product
// that may run to millions of turns: fma gives back what the product lost.
static double turns_of(double step, double count)
{
    double product = step * count;
    double lost = fma(step, count, -product);
    return product - floor(product) + lost;
}

static double play_tone(const DwSynth *synth, const DwProgrammePart *part, double seconds)
{
    const DwCourse *course = &synth->settings.course;
    double step = part->tone_hz * (1 + course->error) / synth->settings.clock_hz;
    double turns = turns_of(step, synth->frame - synth->first);
    turns += part->tone_hz * (dw_course_gained(course, seconds) + synth->flutter_gained_s);
    return sin(2 * M_PI * turns) *
           dw_programme_fade(&synth->programme, synth->part, synth->frame, synth->settings.clock_hz);
}

// The groove that passes is counted as for a tone: what deck plays it shows in nothing else.
static void play_music(const DwSynth *synth, double seconds, double sides[2])
{
    const DwCourse *course = &synth->settings.course;
    double clock_hz = synth->settings.clock_hz;
    double groove_s = (1 + course->error) * seconds + dw_course_gained(course, seconds) + synth->flutter_gained_s;
    dw_music_read(synth->music, groove_s, sides);
    for (int side = 0; side < 2; side++)
        sides[side] *=
            synth->settings.amplitude * dw_programme_fade(&synth->programme, synth->part, synth->frame, clock_hz);
}

static double play_part(DwSynth *synth, double seconds)
{
    const DwProgrammePart *part = &synth->programme.parts[synth->part];
    switch (part->kind) {
    case DW_PART_LIFTED:
    case DW_PART_RUN_IN:
    case DW_PART_QUIET:
    case DW_PART_MUSIC:
    case DW_PART_SIDE:
        return 0;
    case DW_PART_VOICE:
        return DW_VOICE_LEVEL * dw_voice_next(&synth->voice);
    case DW_PART_BAND:
        return play_tone(synth, part, seconds);
    }
    return 0;
}

static double dropout_gain(DwSynth *synth)
{
    if (synth->frame >= synth->dropouts.next)
        synth->dropout_start = dw_events_take(&synth->dropouts);
    double length_s = synth->settings.dropout_s;
    double since_s = (synth->frame - synth->dropout_start) / synth->settings.clock_hz;
    if (since_s >= length_s)
        return 1;
    double edge_s = fmin(DROPOUT_EDGE_S, length_s / 4);
    double nearest_s = fmin(since_s, length_s - since_s);
    return nearest_s < edge_s ? (1 + cos(M_PI * nearest_s / edge_s)) / 2 : 0;
}

// Lateral rumble moves both sides alike, vertical rumble oppositely.
static void add_rumble(DwSynth *synth, double sides[2])
{
    const DwSettings *settings = &synth->settings;
    double lateral = dw_band_noise_next(&synth->lateral) * sqrt(1 - settings->rumble_vertical_power);
    double vertical = dw_band_noise_next(&synth->vertical) * sqrt(settings->rumble_vertical_power);
    sides[0] += settings->rumble_rms * (lateral + vertical);
    sides[1] += settings->rumble_rms * (lateral - vertical);
}

// What the groove holds, in the channels it holds it in.
static void play_signal(DwSynth *synth, double seconds, double sides[2])
{
    const DwSettings *settings = &synth->settings;
    if (synth->side)
        dw_record_side_next(synth->side, sides);
    else if (synth->programme.parts[synth->part].kind == DW_PART_MUSIC)
        play_music(synth, seconds, sides);
    else {
        double signal = settings->amplitude * play_part(synth, seconds);
        sides[0] = signal * (settings->side & DW_SIDE_LEFT ? 1 : settings->leak);
        sides[1] = signal * (settings->side & DW_SIDE_RIGHT ? 1 : settings->leak);
    }
    double gain = dropout_gain(synth) * (1 + settings->am_depth * sin(2 * M_PI * settings->am_hz * seconds));
    sides[0] *= gain;
    sides[1] *= gain;
}

// The cartridge's coils as their leads are connected.
static void connect(const DwSettings *settings, double sides[2])
{
    for (int side = 0; side < 2; side++) {
        if (settings->dead & (side ? DW_SIDE_RIGHT : DW_SIDE_LEFT))
            sides[side] = 0;
        if (settings->reversed & (side ? DW_SIDE_RIGHT : DW_SIDE_LEFT))
            sides[side] = -sides[side];
    }
    double left = sides[0], right = sides[1];
    switch (settings->wiring) {
    case DW_WIRING_CORRECT:
        break;
    case DW_WIRING_SWAPPED:
        sides[0] = right;
        sides[1] = left;
        break;
    case DW_WIRING_STRAPPED: // two equal coils in parallel give their mean
        sides[0] = sides[1] = (left + right) / 2;
        break;
    }
}

// What the cartridge gives: the groove's signal in the right channels.
static void play_groove(DwSynth *synth, double seconds, double sides[2])
{
    sides[0] = sides[1] = 0;
    if (synth->frame < synth->programme.groove)
        return;
    play_signal(synth, seconds, sides);
    dw_crackle_add(&synth->run_in, synth->frame, sides);
    dw_crackle_add(&synth->ticks, synth->frame, sides);
    if (synth->settings.rumble_rms > 0)
        add_rumble(synth, sides);
    connect(&synth->settings, sides);
}

static double play_hum(const DwSettings *settings, double seconds)
{
    double sum = 0;
    if (settings->hum_peak == 0)
        return 0;
    for (size_t k = 0; k < sizeof hum_harmonics / sizeof *hum_harmonics; k++)
        sum += hum_harmonics[k] * sin(2 * M_PI * settings->hum_hz * (double)(k + 1) * seconds);
    return settings->hum_peak * sum;
}

// The record moves on by what random flutter adds during this frame.
static void advance(DwSynth *synth, double seconds)
{
    const DwSettings *settings = &synth->settings;
    if (settings->flutter_rms > 0 && !synth->side) // a side has its own
        synth->flutter_gained_s += settings->flutter_rms * dw_band_noise_next(&synth->flutter) *
                                   dw_course_share(&settings->course, seconds) / settings->clock_hz;
    synth->frame++;
    if (synth->frame >= synth->programme.parts[synth->part].end)
        synth->part++;
}

static void play_frame(DwSynth *synth, float *frame)
{
    const DwSettings *settings = &synth->settings;
    double seconds = seconds_of(synth, synth->frame);
    double sides[2];
    play_groove(synth, seconds, sides);
    double hum = play_hum(settings, seconds);
    for (int side = 0; side < settings->channels; side++) {
        double value = sides[side] + hum + settings->noise_rms * dw_random_normal(&synth->noise[side]);
        frame[side] = (float)fmax(-settings->clip, fmin(settings->clip, value));
    }
    advance(synth, seconds);
}

size_t dw_synth_read(DwSynth *synth, float *interleaved, size_t frames)
{
    size_t made = 0;
    for (; made < frames && synth->frame < synth->programme.frames; made++)
        play_frame(synth, interleaved + made * (size_t)synth->settings.channels);
    return made;
}

// ---- asking ---------------------------------------------------------------

double dw_synth_rate(const DwSynth *synth)
{
    return synth->settings.rate_hz;
}

int dw_synth_channels(const DwSynth *synth)
{
    return synth->settings.channels;
}

size_t dw_synth_frames(const DwSynth *synth)
{
    return (size_t)synth->programme.frames;
}

const DwSynthTruth *dw_synth_truth(const DwSynth *synth)
{
    return &synth->truth;
}

const DwRecordSide *dw_synth_side(const DwSynth *synth)
{
    return synth->side;
}

double dw_synth_deviation(const DwSynth *synth, double seconds)
{
    if (synth->side)
        return 100 * dw_record_side_deviation(synth->side, seconds);
    return 100 * dw_course_deviation(&synth->settings.course, seconds - synth->settings.course.lead_s);
}

double dw_synth_line(const DwSynth *synth, double frequency_hz, double tolerance_hz, double *phase_rad)
{
    const DwCourse *course = &synth->settings.course;
    double real = 0, imaginary = 0;
    for (size_t i = 0; i < course->count; i++) {
        const DwSpeedLine *line = &course->lines[i];
        if (fabs(line->frequency_hz - frequency_hz) > tolerance_hz)
            continue;
        real += line->peak_percent * cos(line->phase_rad);
        imaginary += line->peak_percent * sin(line->phase_rad);
    }
    if (phase_rad)
        *phase_rad = atan2(imaginary, real);
    return hypot(real, imaginary);
}

// Plays the chance of the events ahead on a copy: they are the same when the
// recording itself gets there.
static size_t list_events(const DwSynth *synth, const DwEvents *begun, double *times_s, size_t room)
{
    DwEvents events = *begun;
    size_t count = 0;
    for (double frame = dw_events_take(&events); frame < synth->programme.frames; frame = dw_events_take(&events)) {
        if (count < room)
            times_s[count] = frame / synth->settings.clock_hz;
        count++;
    }
    return count;
}

size_t dw_synth_ticks(const DwSynth *synth, double *times_s, size_t room)
{
    return list_events(synth, &synth->ticks_begun, times_s, room);
}

size_t dw_synth_dropouts(const DwSynth *synth, double *times_s, size_t room)
{
    return list_events(synth, &synth->dropouts_begun, times_s, room);
}
