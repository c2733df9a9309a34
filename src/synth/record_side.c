// SPDX-License-Identifier: MIT
#include "synth/record_side.h"

#include "base/memory.h"
#include "synth/band_noise.h"
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

static void find_times(const DwSideInputs *inputs, const DwTravel *travel, double groove_s, DwRecordSideBand *truth)
{
    truth->start_s = truth->end_s = NAN;
    for (size_t i = 0; i < travel->count; i++) {
        const DwTravelLeg *leg = &travel->legs[i];
        if (inputs->engraving.parts[leg->part].band != truth->band)
            continue;
        if (isnan(truth->start_s))
            truth->start_s = groove_s + leg->from_s;
        truth->end_s = groove_s + (i + 1 < travel->count ? travel->legs[i + 1].from_s : travel->end_s);
        truth->radius_mm = leg->radius_mm;
    }
}

// The nth side tone above (or below) the higher tone, over what the tone was cut with.
static double side_tone(double index, double ratio, int n)
{
    double place = 1 + n * ratio; // of its frequency, over the higher tone's
    return fabs(place * jn(abs(n), index * place));
}

// The higher tone f₂ is read through the swing V₁/(2πf₁) of the lower one, ahead
// by shift times that. Derived: y = X(s + shift · y) has the velocity spectrum
// ∫X'(u)·exp(−iω(u − shift·X(u)))du, which to first order in the higher tone is
// (ω/ω₂)·Jₙ(shift·ω·A₁) at ω = ω₂ + nω₁.
static double intermod_percent(const DwBandPlanBand *band, double shift_s_cm)
{
    double ratio = band->from_hz / band->frequency_hz, index = fabs(shift_s_cm) * band->velocity_cm_s / ratio;
    double second = side_tone(index, ratio, 1) + side_tone(index, ratio, -1);
    double third = side_tone(index, ratio, 2) + side_tone(index, ratio, -2);
    return 100 * hypot(second, third) / fabs(side_tone(index, ratio, 0));
}

static void find_passed(DwRecordSideBand *truth)
{
    for (int side = 0; side < 2; side++) {
        truth->passed_um[side] = 0;
        double lowest_lost = INFINITY;
        for (size_t i = 0; i < truth->band->step_count; i++)
            if (truth->band->steps_um[i] > truth->held_um[side])
                lowest_lost = fmin(lowest_lost, truth->band->steps_um[i]);
        for (size_t i = 0; i < truth->band->step_count; i++)
            if (truth->band->steps_um[i] < lowest_lost)
                truth->passed_um[side] = fmax(truth->passed_um[side], truth->band->steps_um[i]);
    }
}

static DwRecordSideBand band_truth(const DwSideInputs *inputs, const DwTravel *travel, double groove_s,
                                   const DwBandPlanBand *band)
{
    DwRecordSideBand truth = {
        .band = band, .radius_mm = NAN, .second_percent = NAN, .intermod_percent = NAN, .passed_um = {NAN, NAN}};
    find_times(inputs, travel, groove_s, &truth);
    DwPickupPlace place = dw_pickup_place(&inputs->pickup, truth.radius_mm);
    truth.tracking_error_deg = place.tracking_error_deg;
    for (int side = 0; side < 2; side++) // a lateral swing moves each wall by 1/√2 of it
        truth.held_um[side] = place.held_um[side] * M_SQRT2;
    double shift = dw_engraving_shift_s_cm(band->channel, &place.tracing);
    if (band->kind == DW_PLAN_TONE || band->kind == DW_PLAN_STEPS)
        truth.second_percent = 100 * fabs(shift) * band->velocity_cm_s;
    if (band->kind == DW_PLAN_TWO_TONE)
        truth.intermod_percent = intermod_percent(band, shift);
    if (band->kind == DW_PLAN_STEPS)
        find_passed(&truth);
    return truth;
}

// What is true of each band of the plan, from its description alone; GROOVE_S as in dw_record_side_new.
// The caller frees them with free().
static DwRecordSideBand *bands_truth(const DwSideInputs *inputs, const DwTravel *travel, double groove_s)
{
    DwRecordSideBand *bands = dw_memory_new(inputs->plan.count, sizeof *bands);
    for (size_t i = 0; i < inputs->plan.count; i++)
        bands[i] = band_truth(inputs, travel, groove_s, &inputs->plan.bands[i]);
    return bands;
}

// The rest of what is true, but for the bands and the level.
static DwRecordSideTruth overall_truth(const DwSideInputs *inputs)
{
    double m[2][2];
    dw_pickup_matrix(&inputs->pickup, m);
    DwRecordSideTruth truth = {
        .rotation_deg = inputs->pickup.rotation_deg,
        .balance_db = 20 * log10(fabs(m[1][1] / m[0][0])),
        .separation_db = {20 * log10(fabs(m[1][1] / m[1][0])), 20 * log10(fabs(m[0][0] / m[0][1]))},
        .resonance_q = inputs->pickup.resonance_q,
    };
    for (int i = 0; i < DW_PICKUP_DIRECTIONS; i++)
        truth.resonance_hz[i] = inputs->pickup.resonance_hz[i];
    return truth;
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
    side->bands = bands_truth(&side->inputs, &side->travel, groove_s);
    side->truth = overall_truth(&side->inputs);
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
