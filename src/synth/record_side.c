// SPDX-License-Identifier: MIT
#include "synth/record_side.h"

#include "base/memory.h"
#include "synth/band_noise.h"
#include "synth/record_side_truth.h"
#include "synth/voice.h"

#include <math.h>
#include <stdlib.h>

// The course is reckoned so often: a line of 200 Hz then loses 3e-7 of itself.
#define KNOT_S 80e-6

// Where the stylus is at a reading, by the course of its leg.
typedef struct {
    double reading;
    double groove_s;
    double speed; // ratio of the nominal
} Knot;

struct DwRecordSide {
    DwSideInputs inputs;
    DwCourse course; // shares its lines with the settings'
    DwTravel travel;
    double groove_s; // of the recording: when the stylus is set down
    double rotation_hz;
    double inside_hz;   // how often the groove is read
    double inside;      // the next reading's number
    double frame;       // the next frame's
    double scale;       // from cm/s of a coil to full scale at 1 kHz
    double flutter_rms; // ratio
    double flutter_gained_s;
    size_t leg;          // of the travel, where the next reading lies
    DwCourse there;      // the course on it
    DwPickupPlace place; // and the stylus
    Knot knots[2];       // about the next reading
    double knot_step;    // readings from one to the next
    DwPickup pickup;
    DwReplay *replay;
    DwBandNoise flutter, arm_flutter;
    DwVoice voice;
    double voice_peak;
    DwRecordSideBand *bands;
    DwRecordSideTruth truth;
};

// ---- making ---------------------------------------------------------------

static Knot knot_at(const DwRecordSide *side, double reading)
{
    double seconds = reading / side->inside_hz;
    return (Knot){reading, dw_travel_groove_s(&side->travel.legs[side->leg], &side->there, seconds),
                  1 + dw_course_deviation(&side->there, seconds)};
}

static void enter_leg(DwRecordSide *side, size_t leg)
{
    side->leg = leg;
    side->there = dw_travel_course(&side->travel.legs[leg], &side->course);
    side->place = dw_pickup_place(&side->inputs.pickup, side->travel.legs[leg].radius_mm);
    side->knots[0] = knot_at(side, side->inside);
    side->knots[1] = knot_at(side, side->inside + side->knot_step);
}

DwRecordSide *dw_record_side_new(DwSideInputs *inputs, const DwSettings *settings, double groove_s)
{
    DwRecordSide *side = dw_memory_new(1, sizeof *side);
    side->inputs = *inputs;
    *inputs = (DwSideInputs){0};
    side->course = settings->course;
    side->groove_s = groove_s;
    side->rotation_hz = settings->rotation_hz;
    DwTravelSettings travel = {side->inputs.from_s, side->inputs.to_s, side->inputs.jumps, side->inputs.jump_count};
    dw_travel_make(&side->inputs.engraving, &side->course, &travel, &side->travel);
    side->replay = dw_replay_new(&side->inputs.replay, settings->clock_hz);
    side->inside_hz = settings->clock_hz * DW_REPLAY_FACTOR;
    dw_pickup_init(&side->pickup, &side->inputs.pickup, side->inside_hz);
    side->scale = settings->amplitude / side->inputs.reference_cm_s;
    side->flutter_rms = settings->flutter_rms;
    dw_band_noise_init(&side->flutter, settings->seed, DW_STREAM_FLUTTER, DW_FLUTTER_LOW_HZ, DW_FLUTTER_HIGH_HZ,
                       side->inside_hz);
    DwSections head = {.count = 0};
    if (side->inputs.arm_flutter_rms > 0)
        head = dw_pickup_head(side->inputs.pickup.resonance_hz[DW_PICKUP_VERTICAL], side->inputs.pickup.resonance_q,
                              side->inside_hz);
    dw_band_noise_init_shaped(&side->arm_flutter, settings->seed, DW_STREAM_ARM_FLUTTER, DW_FLUTTER_LOW_HZ,
                              DW_FLUTTER_HIGH_HZ, side->inside_hz, &head);
    dw_voice_init(&side->voice, settings->seed, side->inside_hz, 1 + side->course.error);
    side->voice_peak = settings->amplitude * DW_VOICE_LEVEL;
    side->knot_step = fmax(1, floor(KNOT_S * side->inside_hz));
    enter_leg(side, 0);
    side->bands = dw_record_side_bands(&side->inputs, &side->travel, groove_s);
    side->truth = dw_record_side_overall(&side->inputs);
    side->truth.bands = side->bands;
    side->truth.count = side->inputs.plan.count;
    side->truth.reference_peak = settings->amplitude;
    return side;
}

void dw_record_side_free(DwRecordSide *side)
{
    if (!side)
        return;
    dw_side_inputs_clear(&side->inputs);
    dw_travel_clear(&side->travel);
    dw_replay_free(side->replay);
    free(side->bands);
    free(side);
}

double dw_record_side_length_s(const DwRecordSide *side)
{
    return side->travel.end_s;
}

double dw_record_side_highest_hz(const DwSideInputs *inputs)
{
    double highest = 0;
    for (size_t i = 0; i < inputs->plan.count; i++) {
        const DwBandPlanBand *band = &inputs->plan.bands[i];
        highest = fmax(highest, fmax(band->frequency_hz, fmax(band->from_hz, band->to_hz))); // NAN is passed over
    }
    return highest;
}

// ---- playing --------------------------------------------------------------

// The walls rise and fall together as the record does, whatever its bands hold.
static void add_warps(const DwRecordSide *side, double seconds, double walls[2])
{
    for (size_t i = 0; i < side->inputs.warp_count; i++) {
        const DwSideWarp *warp = &side->inputs.warps[i];
        double omega = 2 * M_PI * warp->times * side->rotation_hz;
        double vertical = warp->height_mm / 20 * omega * cos(omega * seconds); // [cm/s]
        walls[0] += vertical * M_SQRT1_2;
        walls[1] -= vertical * M_SQRT1_2;
    }
}

// Random flutter, of the drive and of the arm [ratio]; the groove gains what it adds up to.
static double next_flutter(DwRecordSide *side, double seconds)
{
    double flutter = 0;
    if (side->flutter_rms > 0)
        flutter += side->flutter_rms * dw_band_noise_next(&side->flutter) * dw_course_share(&side->there, seconds);
    if (side->inputs.arm_flutter_rms > 0)
        flutter += side->inputs.arm_flutter_rms * dw_band_noise_next(&side->arm_flutter);
    side->flutter_gained_s += flutter / side->inside_hz;
    return flutter;
}

// The course between its two knots: a cubic for the groove (Hermite's), which
// leaves (hω)⁴/384 of a line of angular frequency ω, and a line for the speed.
static Knot place_now(DwRecordSide *side)
{
    if (side->inside >= side->knots[1].reading) {
        side->knots[0] = side->knots[1];
        side->knots[1] = knot_at(side, side->knots[1].reading + side->knot_step);
    }
    const Knot *from = &side->knots[0], *to = &side->knots[1];
    double share = (side->inside - from->reading) / side->knot_step, rest = 1 - share;
    double step_s = side->knot_step / side->inside_hz;
    double groove_s = from->groove_s + share * share * (3 - 2 * share) * (to->groove_s - from->groove_s) +
                      step_s * share * rest * (rest * from->speed - share * to->speed);
    return (Knot){side->inside, groove_s, rest * from->speed + share * to->speed};
}

static void read_groove(DwRecordSide *side)
{
    double seconds = side->inside / side->inside_hz, walls[2] = {0, 0}, coils[2], heard = 0;
    while (side->leg + 1 < side->travel.count && seconds >= side->travel.legs[side->leg + 1].from_s)
        enter_leg(side, side->leg + 1);
    if (seconds < side->travel.end_s) {
        const DwEngravedPart *part = &side->inputs.engraving.parts[side->travel.legs[side->leg].part];
        Knot now = place_now(side);
        dw_engraving_walls(part, now.groove_s + side->flutter_gained_s, &side->place.tracing, walls);
        double speed = now.speed + next_flutter(side, seconds);
        walls[0] *= speed;
        walls[1] *= speed;
        add_warps(side, seconds, walls);
        if (part->kind == DW_ENGRAVED_VOICE)
            heard = side->voice_peak * dw_voice_next(&side->voice);
    }
    dw_pickup_play(&side->pickup, &side->place, walls, coils);
    coils[0] *= side->scale;
    coils[1] *= side->scale;
    dw_replay_push(side->replay, coils, heard);
    side->inside++;
}

void dw_record_side_next(DwRecordSide *side, double channels[2])
{
    double needed = side->frame++ * DW_REPLAY_FACTOR + (double)dw_replay_ahead(side->replay);
    while (side->inside <= needed)
        read_groove(side);
    channels[0] = dw_replay_read(side->replay, 0);
    channels[1] = dw_replay_read(side->replay, 1);
}

// ---- asking ---------------------------------------------------------------

const DwRecordSideTruth *dw_record_side_truth(const DwRecordSide *side)
{
    return &side->truth;
}

const DwBandPlan *dw_record_side_plan(const DwRecordSide *side)
{
    return &side->inputs.plan;
}

double dw_record_side_response_db(const DwRecordSide *side, double frequency_hz)
{
    return dw_replay_response_db(&side->inputs.replay, frequency_hz);
}

double dw_record_side_deviation(const DwRecordSide *side, double seconds)
{
    double since_s = seconds - side->groove_s;
    size_t leg = 0;
    while (leg + 1 < side->travel.count && since_s >= side->travel.legs[leg + 1].from_s)
        leg++;
    DwCourse there = dw_travel_course(&side->travel.legs[leg], &side->course);
    return dw_course_deviation(&there, since_s);
}
