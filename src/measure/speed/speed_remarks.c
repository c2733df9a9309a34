// SPDX-License-Identifier: MIT
// What a tone's sheet says in sentences of the speed and the recording, and what it could not measure.
#include "measure/speed/speed_filling.h"

#include "base/heard_speed.h"
#include "base/saying.h"
#include "base/text.h"
#include "measure/speed/speed_fitness.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const double MOST_DRIFT = 0.2; // %/min: a hi-fi deck's, where no class was stated (data/limits)

// What makes a deck run at `ratio` times the nominal speed: another speed of its own, and a pulley made for other mains
// than `mains_hz`; 0 for mains that have no part in it.
typedef struct {
    double ratio;
    const char *speed;
    int mains_hz;
} Cause;

// Whether the drive may have a pulley that is made for other mains than MAINS_HZ, as far as it was stated.
static bool may_be_pulley(const DwSpeedSettings *settings, int mains_hz)
{
    const DwDrive *drive = &settings->drive;
    bool other_mains = isfinite(settings->mains_hz) && fabs(settings->mains_hz - mains_hz) > 1;
    return !other_mains && !(settings->drive_given && dw_drive_is_controlled(drive));
}

// Whether a motor that keeps to the mains turns this drive; unknown where it was not stated.
static bool is_mains_motor(const DwSpeedSettings *settings)
{
    DwMotorKind motor = settings->drive.motor;
    return settings->drive_given && (motor == DW_MOTOR_SYNCHRONOUS || motor == DW_MOTOR_INDUCTION);
}

// Adds what may be the cause of a speed RATIO times the nominal one. Returned: whether anything usual is.
static bool remark_cause(const DwSpeedFilling *filling)
{
    static const Cause causes[] = {
        {1.350, "45 instead of 33⅓ rpm", 0},
        {1 / 1.350, "33⅓ instead of 45 rpm", 0},
        {1.200, NULL, 60},
        {1 / 1.2, NULL, 50},
        {2.348, "78 instead of 33⅓ rpm", 0},
        {1 / 2.348, "33⅓ instead of 78 rpm", 0},
        {1.739, "78 instead of 45 rpm", 0},
        {1 / 1.739, "45 instead of 78 rpm", 0},
        {1.620, "45 instead of 33⅓ rpm", 60},
        {1.125, "45 instead of 33⅓ rpm", 50},
    };
    double ratio = filling->judged.ratio;
    size_t i = 0;
    while (i < sizeof causes / sizeof *causes && fabs(ratio / causes[i].ratio - 1) >= 0.025)
        i++;
    if (i == sizeof causes / sizeof *causes)
        return false;
    const Cause *cause = &causes[i];
    char pulley[40];
    snprintf(pulley, sizeof pulley, "a %d Hz pulley on %d Hz mains", cause->mains_hz == 60 ? 50 : 60, cause->mains_hz);
    bool plain = cause->mains_hz && !may_be_pulley(filling->settings, cause->mains_hz);
    const char *check =
        plain || !cause->mains_hz ? "check the speed setting, what controls the motor, and deck.speed"
        : is_mains_motor(filling->settings)
            ? "check the pulley, the speed setting and deck.speed"
            : "check the pulley where the motor keeps to the mains; else the speed setting, its control "
              "and deck.speed";
    char *turns = dw_saying_phrase("The deck turns at %.2f rpm, %.3f times the nominal speed",
                                   ratio * filling->settings->speed_rpm, ratio);
    if (plain)
        dw_sheet_remark(filling->sheet, "%s: %s.", turns, check);
    else if (!cause->mains_hz)
        dw_sheet_remark(filling->sheet, "%s. This is %s: %s.", turns, cause->speed, check);
    else
        dw_sheet_remark(filling->sheet, "%s. This is %s%s%s%s: %s.", turns, cause->speed ? cause->speed : "what ",
                        cause->speed ? " together with " : "", pulley, cause->speed ? "" : " does", check);
    free(turns);
    return true;
}

// What is wrong with what was stated, where the platter's own lines say so.
static void remark_statement(const DwSpeedFilling *filling)
{
    const DwSpeedJudgement *judged = &filling->judged;
    DwSheet *sheet = filling->sheet;
    double by_tone = filling->settings->speed_rpm * judged->true_hz / filling->engraved_hz;
    if (isfinite(judged->tone_hz))
        dw_sheet_remark(
            sheet,
            "The tone says %.2f rpm, what comes once a turn says %.2f rpm: this is the wrong tone, or the wrong "
            "band. A tone engraved at %g Hz fits; record.tone says %g Hz.",
            by_tone, judged->platter_rpm, judged->tone_hz, filling->engraved_hz);
    else if (isfinite(judged->speed_rpm))
        dw_sheet_remark(
            sheet,
            "The tone says %.2f rpm, what comes once a turn says %.2f rpm: this is the wrong speed. A record for "
            "%.4g rpm fits; deck.speed says %.4g rpm.",
            by_tone, judged->platter_rpm, judged->speed_rpm, filling->settings->speed_rpm);
    else
        dw_sheet_remark(
            sheet,
            "The tone says %.2f rpm, what comes once a turn says %.2f rpm: the record's tone is off by %.2f %%, or "
            "record.tone or deck.speed is wrong.",
            by_tone, judged->platter_rpm, judged->tone_error);
}

// Whether the drift is beyond what the class allows, all of its interval, in a take that tells it.
static bool is_drifting(const DwSpeedFilling *filling)
{
    const DwSpeedAnalysis *a = filling->analysis;
    double most = filling->settings->most_drift;
    return !filling->is_unjudged && filling->length_s >= dw_speed_good_length_s &&
           fabs(a->drift) - a->drift_off > (isfinite(most) ? most : MOST_DRIFT);
}

static void remark_drift(const DwSpeedFilling *filling)
{
    double change = filling->analysis->drift * filling->length_s / 60;
    DwMotorKind motor = filling->settings->drive.motor;
    bool is_held = filling->settings->drive_given && (motor == DW_MOTOR_QUARTZ || motor == DW_MOTOR_SYNCHRONOUS);
    if (!is_drifting(filling))
        return;
    dw_sheet_remark(filling->sheet, "The speed still %s, by %.2f %% over this take. %s",
                    change > 0 ? "climbs" : "falls", fabs(change),
                    !is_held ? "Let the deck warm up and record again; a take of four minutes or more from cold tells "
                               "when it is warm. If it goes on, look at bearing, belt, motor and supply."
                    : filling->settings->drive.kind == DW_DRIVE_DIRECT
                        ? "A crystal does not drift like this as it warms: look for a lock that was lost, a stiff "
                          "bearing or a supply that fails."
                        : "Its motor is held by the crystal or the mains, whatever its warmth: look for a belt or "
                          "idler that slips, a stiff bearing or a supply that fails.");
}

static void remark_speed(const DwSpeedFilling *filling)
{
    const DwSpeedJudgement *judged = &filling->judged;
    double error = filling->error, ratio = judged->ratio;
    if (judged->by == DW_SPEED_UNKNOWN) {
        double one = filling->engraved_hz, other = judged->rival_hz, hz = judged->true_hz;
        dw_sheet_not_measured(
            filling->sheet, "speed.error",
            "the tone of %.1f Hz is %g Hz at %+.2f %% or %g Hz at %+.2f %%, and nothing comes once a turn "
            "to tell. Give record.tone.",
            hz, one, 100 * (hz / one - 1), other, 100 * (hz / other - 1));
        return;
    }
    if (judged->by == DW_SPEED_BY_PLATTER)
        remark_statement(filling);
    else if (judged->is_doubtful)
        dw_sheet_remark(
            filling->sheet,
            "The tone says %.2f rpm, what comes once a turn says %.2f rpm, and the take is too short to tell "
            "which is right. Check deck.speed and record.tone, or record 60 s or more.",
            filling->settings->speed_rpm * judged->true_hz / filling->engraved_hz, judged->platter_rpm);
    if (fabs(error) > 6 && remark_cause(filling))
        return;
    if (is_drifting(filling)) {
        dw_sheet_remark(filling->sheet,
                        "%.2f %% %s on the mean of this take: how early or late a side ends is not known while the "
                        "speed changes.",
                        fabs(error), error > 0 ? "fast" : "slow");
        return;
    }
    DwHeardSpeed heard = dw_heard_speed(100 * (ratio - 1));
    const char *where = filling->is_unjudged ? "In the stretch that was measured: " : "";
    if (fabs(error) < 0.005)
        dw_sheet_remark(filling->sheet, "%s is right within 0.005 %%.",
                        filling->is_unjudged ? "In the stretch that was measured the speed" : "The speed");
    else
        dw_sheet_remark(filling->sheet, "%s%.2f %% %s: a 20-minute side ends %.1f s %s, %.0f cent%s %s.", where,
                        fabs(error), error > 0 ? "fast" : "slow", fabs(heard.early_s), error > 0 ? "early" : "late",
                        fabs(heard.cents), lround(fabs(heard.cents)) == 1 ? "" : "s", error > 0 ? "sharp" : "flat");
}

static void remark_channels(const DwSpeedFilling *filling)
{
    const DwToneRun *run = filling->run;
    if (filling->settings->channels > 1) {
        double least = fmin(run->share[0], run->share[1]);
        if (least < 0.03)
            dw_sheet_remark(filling->sheet, "The %s channel carries no tone; the other one was measured.",
                            run->share[0] < run->share[1] ? "left" : "right");
        else if (run->reversed)
            dw_sheet_remark(filling->sheet, "The channels are in opposite phase: one is reversed, or the band is a "
                                            "vertical one. The readings here do not suffer.");
    }
    if (filling->flags & DW_FLAG_CLIPPED)
        dw_sheet_remark(filling->sheet, "The recording is clipped. Lower the recording gain and record again; speed "
                                        "and flutter hardly suffer, levels do.");
}

// What turns nearly as often as the platter, and how long a take parts the two.
static void remark_hidden(const DwSpeedFilling *filling)
{
    static const double PARTS = 0.7, LEAST_S = 30, MOST_S = 600; // over the span
    double hidden_hz = filling->analysis->hidden_hz;
    if (isnan(hidden_hz))
        return;
    double wanted = fmax(LEAST_S, fmin(MOST_S, 5 * ceil(PARTS / hidden_hz / 5)));
    dw_sheet_remark(filling->sheet,
                    "Something turns so nearly as often as the platter that %.0f s do not part the two: what comes "
                    "once a turn is both together. Record %.0f s or more.",
                    filling->length_s, wanted);
}

static void remark_recording(const DwSpeedFilling *filling)
{
    const DwSpeedAnalysis *a = filling->analysis;
    const DwToneRun *run = filling->run;
    DwSheet *sheet = filling->sheet;
    dw_sheet_remark(sheet, "Measured on the steady tone from %.1f to %.1f s of the recording%s.", a->start_s,
                    a->start_s + filling->length_s, a->excluded > 0.0005 ? ", ticks and dropouts left out" : "");
    if (run->dropped)
        dw_sheet_remark(sheet, "The tone lasts longer than the %.0f minutes that are kept; the last part was measured.",
                        filling->settings->keep_s / 60);
    if (!isfinite(filling->settings->tone_hz))
        dw_sheet_remark(sheet, "record.tone was not given; the tone was taken for %g Hz.", filling->engraved_hz);
    if (filling->length_s < dw_speed_good_length_s)
        dw_sheet_remark(sheet,
                        "Only %.0f s of tone: record 30 s or more to tell drift from wow and to part lines that "
                        "lie close, such as belt and platter.",
                        filling->length_s);
    remark_hidden(filling);
    if (a->floor > 0.5 * a->weighted.two_sigma)
        dw_sheet_remark(sheet,
                        "The weighted flutter is near the %.4f %% that the recording's own noise reads: the deck "
                        "may be better than this.",
                        a->floor);
    remark_channels(filling);
}

static void remark_room(const DwSpeedFilling *filling)
{
    const DwSpeedAnalysis *a = filling->analysis;
    double swing = 100 * a->fitness.level_swing;
    if (swing > 0 && a->fitness.may_be_warp)
        dw_sheet_remark(filling->sheet,
                        "The level swings with the speed by %.1f %%: this was recorded through a room, whose echo "
                        "changes the flutter, or off a badly warped record. Record a flat one from the deck's leads.",
                        swing);
    else if (swing > 0)
        dw_sheet_remark(filling->sheet,
                        "The level swings with the speed by %.1f %%: this was recorded through a room, whose echo "
                        "changes the flutter. %s",
                        swing,
                        a->excluded > dw_speed_fading ? "In places it takes the tone away, and each time the phase "
                                                        "may slip by a period: the speed is less sure for it."
                                                      : "Speed and drift hardly suffer.");
}

// What makes the recording less than fit, with what would help.
static void remark_fitness(const DwSpeedFilling *filling)
{
    const DwSpeedAnalysis *a = filling->analysis;
    const DwSpeedFitness *fitness = &a->fitness;
    DwSheet *sheet = filling->sheet;
    remark_room(filling);
    if (fitness->is_locked)
        dw_sheet_remark(sheet,
                        "This is a locked groove: each turn is the same one again, with a tick and a jump of the "
                        "tone's phase where it closes.");
    if (fitness->is_drowned)
        dw_sheet_not_measured(sheet, "flutter.weighted.two_sigma",
                              "the noise is too near to the tone to follow it. Clean record and stylus, raise the "
                              "recording level, and record again.");
    else if (fitness->level_swing > dw_speed_most_swing)
        dw_sheet_not_measured(sheet, "flutter.weighted.two_sigma",
                              "a room's echo may halve it or double it. Record from the deck's leads.");
    else if (a->excluded > dw_speed_most_gaps)
        dw_sheet_not_measured(
            sheet, "flutter.weighted.two_sigma",
            "%.0f %% of the tone is spoilt by ticks and dropouts: too much to tell its flutter. Clean "
            "record and stylus, and record again.",
            100 * a->excluded);
    else if (dw_speed_is_spoilt(a, &a->unweighted) || dw_speed_is_spoilt(a, &a->weighted))
        dw_sheet_not_measured(
            sheet,
            dw_speed_is_spoilt(a, &a->unweighted) ? "flutter.unweighted.two_sigma" : "flutter.weighted.two_sigma",
            "hum or another sound lies so near to the tone of %.0f Hz that it reads as flutter. Use a "
            "band of 3000 or 3150 Hz, and look after the earth lead.",
            a->mean_hz);
}

static void list_not_measured(const DwSpeedFilling *filling)
{
    DwSheet *sheet = filling->sheet;
    dw_sheet_not_measured(sheet, "record's own share",
                          "an off-centre pressing and an uneven platter look alike in one recording; record the band "
                          "again with the disc turned half round on the platter (reseat).");
    if (!isfinite(filling->settings->tone_tolerance_percent) && !isfinite(filling->judged.tone_error))
        dw_sheet_not_measured(sheet, "record's own speed error",
                              "the engraved tone is taken as exact; IEC 60098 lets a record be off by 0.5 %%. State "
                              "record.tone_tolerance where its maker does.");
    if (!isfinite(filling->settings->clock_error_ppm))
        dw_sheet_not_measured(sheet, "sampling clock",
                              "taken as exact within 0.01 %%, as is common. State chain.clock_error once it has been "
                              "checked.");
}

void dw_speed_remarks_add(const DwSpeedFilling *filling)
{
    remark_speed(filling);
    remark_drift(filling);
    dw_speed_stretches_remark(filling);
    remark_recording(filling);
    remark_fitness(filling);
    list_not_measured(filling);
}
