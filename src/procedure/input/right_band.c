// SPDX-License-Identifier: MIT
#include "procedure/input/right_band.h"

#include "base/text.h"
#include "base/tongue.h"
#include "measure/side/side_finder.h"
#include "procedure/input/measure_inputs.h"
#include "procedure/input/recording.h"

#include <math.h>
#include <stdlib.h>

// Chosen here: how much of the recordings must be plainly something else before they are refused, and how long and
// how different what is looked for must be.
static const double PLAIN_SHARE = 0.6, LEAST_S = 1, STEP_DB = 2, SAME_TONE = 0.02, LOW_SWEEP_HZ = 40, TREBLE_HZ = 200,
                    HUM_HZ = 130;
// The third multiple of a mains or an inverter may be the strongest of its hum: it is one of 50 or 60 Hz, or quiet.
static const double THIRD_HZ = 215, MULTIPLE = 0.005, QUIET_DB = -40;
enum { TONES_MOST = 64 };

// What was heard so far.
typedef struct {
    unsigned kinds;  // of DW_RIGHT_BAND_…
    double length_s; // of all recordings
    double known_s;  // of it: stretches of a known kind
    double hz[TONES_MOST], level_db[TONES_MOST];
    size_t tones;
    DwSideSegment longest;
    double longest_s;
} Heard;

static double loudest_db(const DwSideSegment *segment)
{
    return isnan(segment->level_db[1]) ? segment->level_db[0] : fmax(segment->level_db[0], segment->level_db[1]);
}

// Hum and rumble of a silent groove may stand out as a tone does; so may the groove under a low tone.
static bool may_be_hum(const DwSideSegment *segment)
{
    double hz = segment->frequency_hz;
    bool third = fabs(hz / 150 - 1) < MULTIPLE || fabs(hz / 180 - 1) < MULTIPLE;
    return hz < HUM_HZ || third || (hz < THIRD_HZ && loudest_db(segment) < QUIET_DB);
}

static void hear_tone(Heard *heard, const DwSideSegment *segment)
{
    heard->kinds |= DW_RIGHT_BAND_TONE | (may_be_hum(segment) ? DW_RIGHT_BAND_SILENCE : 0u);
    if (fabs(segment->rise_db) >= STEP_DB)
        heard->kinds |= DW_RIGHT_BAND_STEPS;
    if (segment->frequency_hz < LOW_SWEEP_HZ)
        heard->kinds |= DW_RIGHT_BAND_LOW_SWEEP;
    for (size_t i = 0; i < heard->tones; i++) {
        if (fabs(segment->frequency_hz / heard->hz[i] - 1) > SAME_TONE)
            heard->kinds |= DW_RIGHT_BAND_SPOTS;
        else if (fabs(loudest_db(segment) - heard->level_db[i]) >= STEP_DB)
            heard->kinds |= DW_RIGHT_BAND_STEPS;
    }
    if (heard->tones < TONES_MOST) {
        heard->hz[heard->tones] = segment->frequency_hz;
        heard->level_db[heard->tones++] = loudest_db(segment);
    }
}

// Two tones of which the higher is a harmonic of the lower may be one tone that is mistracked: it is, where that tone
// stands elsewhere too.
static bool is_mistracked(const Heard *heard, const DwSideSegment *segment)
{
    double order = segment->frequency_hz / segment->from_hz;
    if (fabs(order - round(order)) > SAME_TONE * order)
        return false;
    for (size_t i = 0; i < heard->tones; i++)
        if (fabs(segment->from_hz / heard->hz[i] - 1) <= SAME_TONE)
            return true;
    return false;
}

static void hear_two_tones(Heard *heard, const DwSideSegment *segment)
{
    DwSideSegment tone = *segment;
    if (!is_mistracked(heard, segment)) {
        heard->kinds |= DW_RIGHT_BAND_TWO_TONES;
        return;
    }
    tone.kind = DW_PLAN_TONE;
    tone.frequency_hz = segment->from_hz;
    tone.rise_db = 0;
    hear_tone(heard, &tone);
}

static void hear(Heard *heard, const DwSideSegment *segment)
{
    double length_s = segment->end_s - segment->start_s;
    heard->known_s += length_s;
    if (length_s > heard->longest_s) {
        heard->longest_s = length_s;
        heard->longest = *segment;
    }
    if (length_s < LEAST_S)
        return;
    double low = fmin(segment->from_hz, segment->to_hz), high = fmax(segment->from_hz, segment->to_hz);
    switch (segment->kind) {
    case DW_PLAN_TONE:
        hear_tone(heard, segment);
        break;
    case DW_PLAN_STEPS:
        heard->kinds |= DW_RIGHT_BAND_TONE | DW_RIGHT_BAND_STEPS;
        break;
    case DW_PLAN_SWEEP:
        heard->kinds |=
            (high > TREBLE_HZ ? DW_RIGHT_BAND_SWEEP : 0u) | (low < LOW_SWEEP_HZ ? DW_RIGHT_BAND_LOW_SWEEP : 0u);
        break;
    case DW_PLAN_SILENCE:
        heard->kinds |= DW_RIGHT_BAND_SILENCE;
        break;
    case DW_PLAN_TWO_TONE:
        hear_two_tones(heard, segment);
        break;
    case DW_PLAN_KINDS:
        break;
    }
}

static void push(void *finder, const float *interleaved, size_t frames)
{
    dw_side_finder_push(finder, interleaved, frames);
}

static DwStatus listen(const char *path, const DwInputs *inputs, Heard *heard, DwMessage *message)
{
    DwRecording recording;
    DwStatus status = dw_recording_open(path, inputs, &recording, message);
    if (status != DW_OK)
        return status;
    DwSideFinder *finder = dw_side_finder_new(recording.rate_hz, recording.channels > 1 ? 2 : 1,
                                              !dw_measure_inputs_equalised(inputs), recording.start_s);
    status = dw_recording_play(&recording, push, finder, message);
    if (status == DW_OK)
        status = dw_side_finder_check(finder, message);
    if (status == DW_OK) {
        size_t count;
        dw_side_finder_finish(finder);
        const DwSideSegment *segments = dw_side_finder_segments(finder, &count);
        for (size_t i = 0; i < count; i++)
            if (segments[i].kind != DW_PLAN_TWO_TONE)
                hear(heard, &segments[i]);
        for (size_t i = 0; i < count; i++)
            if (segments[i].kind == DW_PLAN_TWO_TONE)
                hear(heard, &segments[i]);
        heard->length_s += dw_side_finder_end_s(finder) - recording.start_s;
    }
    dw_side_finder_free(finder);
    dw_recording_close(&recording);
    return status;
}

// "a tone of 3150 Hz", "a sweep from 20 to 20000 Hz" …
static char *describe(const Heard *heard)
{
    const DwSideSegment *longest = &heard->longest;
    if (heard->kinds & DW_RIGHT_BAND_STEPS)
        return dw_say("a tone of %.0f Hz at several levels", heard->hz[0]);
    if (heard->kinds & DW_RIGHT_BAND_SPOTS)
        return dw_say("tones of several frequencies");
    switch (longest->kind) {
    case DW_PLAN_SWEEP:
        return dw_say("a sweep from %.0f to %.0f Hz", longest->from_hz, longest->to_hz);
    case DW_PLAN_SILENCE:
        return dw_say("silent groove");
    case DW_PLAN_TWO_TONE:
        return dw_say("two tones at once, %.0f and %.0f Hz", longest->from_hz, longest->frequency_hz);
    case DW_PLAN_TONE:
    case DW_PLAN_STEPS:
    case DW_PLAN_KINDS:
        break;
    }
    return dw_say(may_be_hum(longest) ? "silent groove with hum or rumble, or a tone, of %.0f Hz"
                                      : "a steady tone of %.0f Hz",
                  longest->frequency_hz);
}

static const char *needed(unsigned wanted)
{
    if (wanted & DW_RIGHT_BAND_SILENCE)
        return N_("silent groove");
    if (wanted & DW_RIGHT_BAND_TWO_TONES)
        return N_("two tones at once");
    if (wanted & DW_RIGHT_BAND_LOW_SWEEP)
        return N_("a sweep below 40 Hz");
    if (wanted & DW_RIGHT_BAND_SWEEP)
        return N_("a sweep or tones of several frequencies");
    if (wanted & DW_RIGHT_BAND_TONE)
        return N_("a steady tone");
    return N_("a tone at several levels, step by step");
}

// What measures that which was heard.
static const char *measures(const Heard *heard)
{
    static const struct {
        unsigned kind;
        const char *name;
    } rows[] = {{DW_RIGHT_BAND_STEPS, "tracking"}, {DW_RIGHT_BAND_SPOTS, "response"},
                {DW_RIGHT_BAND_SWEEP, "response"}, {DW_RIGHT_BAND_LOW_SWEEP, "lowsweep"},
                {DW_RIGHT_BAND_SILENCE, "noise"},  {DW_RIGHT_BAND_TWO_TONES, "intermod"},
                {DW_RIGHT_BAND_TONE, "speed"}};
    if (heard->longest.kind == DW_PLAN_TONE && may_be_hum(&heard->longest))
        return "noise";
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (heard->kinds & rows[i].kind)
            return rows[i].name;
    return "side";
}

DwStatus dw_right_band_check(const DwRequest *request, const char *procedure, unsigned wanted, DwMessage *message)
{
    Heard heard = {0};
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < request->recording_count; i++)
        status = listen(request->recordings[i], request->inputs, &heard, message);
    if (status != DW_OK || (heard.kinds & wanted) || !heard.kinds || heard.known_s < PLAIN_SHARE * heard.length_s)
        return status;
    char *what = describe(&heard);
    status =
        dw_fail(message, DW_BAD_INPUT,
                "%s needs %s, but from %.1f to %.1f s this is %s. Record the right band, or measure this one with %s.",
                procedure, dw_said(needed(wanted)), heard.longest.start_s, heard.longest.end_s, what, measures(&heard));
    free(what);
    return status;
}
