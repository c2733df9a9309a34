// SPDX-License-Identifier: MIT
// reseat: the record turned on the platter between recordings of one band,
// which tells the pressing's eccentricity from the deck's own wow.
#include "base/text.h"
#include "procedure/registry/procedures.h"
#include "procedure/tone/reseat_sheet.h"
#include "procedure/input/tone_settings.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const quantities[] = {
    "reseat.angle",       "reseat.reference",  "reseat.mark",
    "reseat.angle_error", "reseat.mark_error", "record.tone",
    "deck.speed",         "record.radius",     "arm.offset",
    "record.start",       "record.end",        "record.tone_tolerance",
    "record.name",        "flutter.split",     "deck.class",
    "deck.name",          "reseat.play",       "reseat.stylus",
    "chain.clock_error",  "chain.name",        NULL,
};

static const double DEGREE = M_PI / 180, COVERAGE = 1.959964;
static const double TONE_TOLERANCE = 0.5; // % that a record's tone may be off (IEC 60098:2020, 5.6), 95 %
static const double SAME_RADIUS_MM = 0.05;
static const double USUAL_RADIUS_MM = 100; // where none was stated

// --- what was stated -----------------------------------------------------------

static DwReseatReference reference_of(const DwInputs *inputs)
{
    static const char *const words[] = {"mark", "label", "click", "scratch", "none"};
    const char *word = dw_inputs_word(inputs, "reseat.reference");
    for (size_t i = 0; i < DW_RESEAT_NONE; i++)
        if (strcmp(word, words[i]) == 0)
            return (DwReseatReference)i;
    return DW_RESEAT_NONE;
}

static DwStatus read_angles(const DwInputs *inputs, DwReseat *reseat, DwMessage *message)
{
    size_t given = dw_inputs_count(inputs, "reseat.angle");
    if (given != reseat->count && given + 1 != reseat->count)
        return dw_fail(message, DW_BAD_INPUT,
                       "%zu recordings need reseat.angle for each but the first: how far the record was turned since "
                       "the first, clockwise seen from above, as in reseat.angle=180deg.",
                       reseat->count);
    for (size_t i = 0, at = 0; i < reseat->count; i++)
        reseat->parts[i].angle_deg =
            i == 0 && given < reseat->count ? 0 : dw_inputs_in_at(inputs, "reseat.angle", at++, "deg");
    return DW_OK;
}

// Numbers the bands by their radii.
static DwStatus read_radii(const DwInputs *inputs, DwReseat *reseat, DwMessage *message)
{
    size_t given = dw_inputs_count(inputs, "record.radius");
    if (given > 1 && given != reseat->count)
        return dw_fail(message, DW_BAD_INPUT, "Give record.radius once, or once for each of the %zu recordings.",
                       reseat->count);
    double radii[DW_SHARES_SEATS_MOST];
    for (size_t i = 0; i < reseat->count; i++) {
        double radius_mm = given ? dw_inputs_in_at(inputs, "record.radius", given > 1 ? i : 0, "mm") : NAN;
        size_t band = 0;
        while (band < reseat->bands && fabs(radii[band] - radius_mm) > SAME_RADIUS_MM)
            band++;
        if (band == reseat->bands)
            radii[reseat->bands++] = radius_mm;
        reseat->parts[i].radius_mm = radius_mm;
        for (size_t k = 0; k < 2; k++) {
            reseat->parts[i].seat[k].band = band;
            reseat->parts[i].seat[k].scale = given ? reseat->parts[0].radius_mm / radius_mm : 1;
        }
    }
    if (reseat->bands > 1 && reseat->reference != DW_RESEAT_NONE)
        return dw_fail(message, DW_BAD_INPUT,
                       "With a phase reference all recordings must be of one band. Leave out those at another "
                       "record.radius, or reseat.reference.");
    if (reseat->bands > DW_SHARES_BANDS_MOST)
        return dw_fail(message, DW_BAD_INPUT, "At most %d bands can be compared.", DW_SHARES_BANDS_MOST);
    return DW_OK;
}

static DwStatus check_reference(const DwInputs *inputs, const DwReseat *reseat, DwMessage *message)
{
    size_t marks = dw_inputs_count(inputs, "reseat.mark");
    bool timed = reseat->reference == DW_RESEAT_MARK || reseat->reference == DW_RESEAT_LABEL;
    if (marks > 0 && !timed)
        return dw_fail(message, DW_BAD_INPUT,
                       "reseat.mark needs reseat.reference=mark (on the platter) or reseat.reference=label.");
    if (marks > 0 && marks != reseat->count)
        return dw_fail(message, DW_BAD_INPUT, "Give reseat.mark for each of the %zu recordings, or for none.",
                       reseat->count);
    if (reseat->reference == DW_RESEAT_NONE && reseat->count < 3)
        return dw_fail(message, DW_BAD_INPUT,
                       "Two recordings part record and deck only with a phase reference: give reseat.reference (mark, "
                       "label, click or scratch), or a third recording.");
    return DW_OK;
}

// --- the recordings ------------------------------------------------------------

static void push(void *seating, const float *interleaved, size_t frames)
{
    dw_seating_push(seating, interleaved, frames);
}

static DwStatus measure(const DwRequest *request, size_t i, DwReseatPart *part, DwSheet *sheet, DwMessage *message)
{
    const char *path = request->recordings[i];
    DwRecording recording;
    DwMessage why;
    DwStatus status = dw_recording_open(path, request->inputs, &recording, message);
    if (status != DW_OK)
        return status;
    part->seating = dw_seating_new(dw_tone_settings(request->inputs, &recording, NULL));
    status = dw_recording_play(&recording, push, part->seating, message);
    if (status == DW_OK) {
        status = dw_seating_finish(part->seating, &why);
        if (status == DW_OK) {
            part->reading = dw_seating_read(part->seating);
            dw_recording_describe(&recording, path, sheet);
        } else
            dw_fail(message, status, "%s: %s", path, why.text);
    }
    dw_recording_close(&recording);
    return status;
}

// --- where the mark is ----------------------------------------------------------

// Turns from SECONDS to the moment of the vectors, the drift taken into account.
static double turns_since(const DwSeatingReading *reading, double seconds)
{
    double since = reading->centre_s - seconds;
    return reading->turn_hz * (since - reading->drift_per_s * since * since / 2);
}

// Sets when the mark passes, and by how much the place of the platter at the
// vectors' moment is uncertain for it (radians, standard).
static DwStatus place_mark(const DwRequest *request, const DwReseat *reseat, size_t i, DwReseatPart *part,
                           DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    if (reseat->reference == DW_RESEAT_MARK || reseat->reference == DW_RESEAT_LABEL) {
        double start = dw_inputs_in(inputs, "record.start", "s"),
               stated = dw_inputs_in_at(inputs, "reseat.mark", i, "s");
        part->passes_s = isfinite(stated) ? stated : isfinite(start) ? start : 0;
        part->seat[0].turned = 2 * M_PI * turns_since(&part->reading, part->passes_s);
        part->seat[0].turned_off =
            2 * M_PI * part->reading.turn_hz * dw_inputs_in(inputs, "reseat.mark_error", "s") / COVERAGE;
        return DW_OK;
    }
    DwTurnTick tick;
    if (!dw_seating_tick(part->seating, &tick))
        return dw_fail(message, DW_BAD_INPUT,
                       "%s: no tick is heard once a turn. Make it louder, or use a mark: reseat.reference=mark with "
                       "reseat.mark for each recording.",
                       request->recordings[i]);
    part->passes_s = tick.first_s;
    part->ticks = tick.heard;
    part->seat[0].turned = 2 * M_PI * tick.rate_hz * (part->reading.centre_s - tick.first_s);
    part->seat[0].turned_off = 2 * M_PI * tick.rate_hz * tick.off_s;
    return DW_OK;
}

// A record whose tone is off makes the turns between mark and middle miscount
// alike in all recordings; only what differs between them does harm.
static void add_rate_error(const DwInputs *inputs, DwReseat *reseat)
{
    double stated = dw_inputs_in(inputs, "record.tone_tolerance", "%");
    double share = (isfinite(stated) ? stated : TONE_TOLERANCE) / 100 / COVERAGE, mean = 0;
    if (reseat->reference != DW_RESEAT_MARK && reseat->reference != DW_RESEAT_LABEL)
        return; // ticks count the turns themselves
    for (size_t i = 0; i < reseat->count; i++)
        mean += (reseat->parts[i].reading.centre_s - reseat->parts[i].passes_s) / (double)reseat->count;
    for (size_t i = 0; i < reseat->count; i++) {
        const DwSeatingReading *reading = &reseat->parts[i].reading;
        double beyond = reading->centre_s - reseat->parts[i].passes_s - mean;
        DwSeat *seat = &reseat->parts[i].seat[0];
        seat->turned_off = hypot(seat->turned_off, 2 * M_PI * reading->turn_hz * beyond * share);
    }
}

// Where a record comes to lie within its hole's play, each time anew: anywhere in a circle, evenly, so that each
// part of it strays by half the circle's radius (standard). Once a revolution alone; % peak.
static double play_percent(const DwInputs *inputs, const DwReseatPart *part)
{
    double radius = isfinite(part->radius_mm) ? part->radius_mm : USUAL_RADIUS_MM;
    double play_mm = dw_inputs_in(inputs, "reseat.play", "mm");
    return 100 * play_mm / 2 / radius;
}

static void fill_seats(const DwInputs *inputs, DwReseatPart *part, bool first)
{
    for (size_t k = 0; k < 2; k++) {
        DwSeat *seat = &part->seat[k];
        seat->vector = part->reading.vector[k];
        seat->vector_off = hypot(part->reading.vector_off[k] / COVERAGE, k ? 0 : play_percent(inputs, part));
        seat->angle = part->angle_deg * DEGREE;
        seat->angle_off = first ? 0 : dw_inputs_in(inputs, "reseat.angle_error", "rad") / COVERAGE;
        seat->turned = part->seat[0].turned;
        seat->turned_off = part->seat[0].turned_off;
    }
}

static void split(const DwInputs *inputs, DwReseat *reseat)
{
    add_rate_error(inputs, reseat);
    for (size_t i = 0; i < reseat->count; i++)
        fill_seats(inputs, &reseat->parts[i], i == 0);
    bool on_record = reseat->reference == DW_RESEAT_LABEL || reseat->reference == DW_RESEAT_SCRATCH;
    for (unsigned k = 0; k < 2; k++) {
        DwSeat seats[DW_SHARES_SEATS_MOST];
        for (size_t i = 0; i < reseat->count; i++)
            seats[i] = reseat->parts[i].seat[k];
        reseat->shares[k] = reseat->reference == DW_RESEAT_NONE
                                ? dw_shares_split_amplitudes(seats, reseat->count, k + 1)
                                : dw_shares_split(seats, reseat->count, k + 1, on_record);
    }
    dw_reseat_doubt_angles(reseat);
}

// The first file and how many more: a sheet is headed by one name.
static void name_subject(const DwRequest *request, DwSheet *sheet)
{
    const char *path = request->recordings[0], *slash = strrchr(path, '/');
    char *subject = dw_text_format("%s + %zu", slash ? slash + 1 : path, request->recording_count - 1);
    dw_sheet_set_subject(sheet, subject);
    free(subject);
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwReseat reseat = {.count = request->recording_count,
                       .reference = reference_of(request->inputs),
                       .offset_deg = dw_inputs_in(request->inputs, "arm.offset", "deg"),
                       .marks_stated = dw_inputs_count(request->inputs, "reseat.mark") > 0,
                       .play_mm = dw_inputs_in(request->inputs, "reseat.play", "mm"),
                       .stylus_deg = dw_inputs_in(request->inputs, "reseat.stylus", "deg")};
    DwStatus status = read_angles(request->inputs, &reseat, message);
    if (status == DW_OK)
        status = read_radii(request->inputs, &reseat, message);
    if (status == DW_OK)
        status = check_reference(request->inputs, &reseat, message);
    for (size_t i = 0; status == DW_OK && i < reseat.count; i++)
        status = measure(request, i, &reseat.parts[i], sheet, message);
    for (size_t i = 0; status == DW_OK && i < reseat.count; i++) {
        reseat.parts[i].passes_s = NAN;
        if (reseat.reference != DW_RESEAT_NONE)
            status = place_mark(request, &reseat, i, &reseat.parts[i], message);
    }
    if (status == DW_OK) {
        name_subject(request, sheet);
        split(request->inputs, &reseat);
        dw_reseat_fill_sheet(&reseat, sheet);
    }
    for (size_t i = 0; i < reseat.count; i++)
        dw_seating_free(reseat.parts[i].seating);
    return status;
}

const DwProcedure dw_procedure_reseat = {
    .name = "reseat",
    .title = "The record's share and the deck's",
    .summary = "Tell an off-centre record from an uneven platter: two or more recordings, the record turned between.",
    .quantities = quantities,
    .recordings_least = 2,
    .recordings_most = DW_SHARES_SEATS_MOST,
    .takes_differ = true,
    .run = run,
};
