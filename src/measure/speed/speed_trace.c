// SPDX-License-Identifier: MIT
// Traces the lines of a flutter spectrum to the parts of a described drive, and
// says who is suspected, on what evidence, and what would tell.
#include "measure/speed/speed_suspects.h"

#include "base/memory.h"
#include "base/text.h"
#include "physics/trace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double TONE_TOLERANCE = 0.5;        // % that a record's tone may be off (IEC 60098:2020, 5.6), 95 %
static const double LEAST_SHARE = 3, SURE = 0.9; // %: of a line that counts; of confidence
enum { PAIRS_MOST = 8 };

// What is asked of a technician once a part is suspected. Common practice.
static const DwSpeedAdvice advice[DW_PART_COUNT] = {
    [DW_PART_PLATTER] =
        {"Record the band again with the record turned by half a turn (reseat): what keeps its place on the platter is "
         "the deck's, what turns with the record is the record's.",
         "The record: centre it, or measure with another. The deck: clean the platter's seat and rim, and check rim "
         "and "
         "spindle for running true."},
    [DW_PART_RECORD] = {"", ""},
    [DW_PART_BELT] =
        {"Mark the belt with chalk and watch: the disturbance comes with the mark. Or turn the belt inside "
         "out and record again.",
         "Clean belt, pulley and rim; if it stays, replace the belt. A belt is never boiled nor oiled."},
    [DW_PART_MOTOR] =
        {"With the belt off or the idler lifted, listen to the motor run; unplugged, hold a dial gauge to the "
         "pulley and turn it by hand.",
         "Clean the pulley; true or replace one that does not run true. Look after the motor's bearings as "
         "its maker says."},
    [DW_PART_IDLER] =
        {"Lift the idler off and feel its tread for a dimple or a flat from being parked engaged; mark it "
         "and watch.",
         "Clean and true the tread, or have it re-rubbered or replaced. Leave it disengaged at rest."},
    [DW_PART_POLE] = {"See whether the line moves with the platter's speed: change the speed by its fine control and "
                      "record again.",
                      "Look at the drive's balance of phases and its sensors before the motor itself."},
    [DW_PART_TACHO] =
        {"Look at the tacho's signal with a scope, once round: its pulses are to be even in height and spacing.",
         "Clean the tacho's disc and sensor, set its gap, and see that the disc runs true."},
    [DW_PART_MAINS] =
        {"Unplugged, lift the motor out onto a soft cloth, its terminals covered, and run it so for a moment: "
         "vibration goes, electrical pull on the platter stays.",
         "Renew the motor's rubber mounts; check its phase capacitor and the supply's voltage."},
    [DW_PART_UNKNOWN] =
        {"No described part turns at this rate. See whether it changes with the speed set, with the arm "
         "(8 to 15 Hz is where arms resonate) or with the belt off.",
         "A servo that hunts, a resonance of belt and platter or of the arm come into question."},
};

// Of a drive without belt and idler.
static const DwSpeedAdvice
    direct_pole = {"Change the speed by its fine control and record again: cogging moves with the platter. Turn the "
                   "platter by hand, "
                   "unplugged: even cogging is felt as even steps.",
                   "Look at the balance of the phases, at commutation and sensors, and at the bearing's height (the "
                   "air gap) before "
                   "the motor itself."},
    direct_mains =
        {"Look with a scope at the ripple of the supply that feeds the drive; move the transformer or turn it.",
         "Renew what smooths the supply; check the earth of the drive's board."},
    direct_unknown = {"No described part turns at this rate. See whether it changes with the speed set, or with the "
                      "arm (8 to 15 Hz is "
                      "where arms resonate); give drive.slots and drive.tacho_lines if the service sheet tells them.",
                      "A resonance of the arm or of the plinth comes into question."},
    hunting = {
        "No described part turns at this rate; a speed control that hunts does it from 0.2 to 8 Hz. See whether it "
        "changes when the platter is braked lightly with a brush.",
        "Look at the control's tacho or sensors, its supply and its damping network before the motor."};

// Of a pulley between motor and platter, and of several motors on one belt.
static const DwSpeedAdvice
    between =
        {"Mark the pulley between motor and platter and watch: the disturbance comes with the mark. Unplugged, hold "
         "a dial gauge to both its steps and turn it by hand.",
         "Clean both steps, oil its bearing, and true or replace it where it does not run true."},
    several_motors = {"One of the motors on the belt: unplugged, hold a dial gauge to each pulley and turn it by hand; "
                      "listen to one motor after the other with the belt off.",
                      "Clean the pulleys; true or replace one that does not run true, and see that all have one "
                      "diameter: one that is larger drags the others along."};

// What is particular to a drive of more than one stage or motor; NULL: nothing.
static const DwSpeedAdvice *advice_on_train(DwPart part, const DwDrive *drive)
{
    if (part == DW_PART_IDLER && drive->kind == DW_DRIVE_BELT)
        return &between;
    return part == DW_PART_MOTOR && drive->motors > 1 ? &several_motors : NULL;
}

const DwSpeedAdvice *dw_speed_advice(DwPart part, const DwDrive *drive, double frequency_hz)
{
    bool direct = drive->kind == DW_DRIVE_DIRECT;
    if (part == DW_PART_UNKNOWN && dw_drive_is_controlled(drive) && frequency_hz >= dw_drive_hunting_low_hz &&
        frequency_hz <= dw_drive_hunting_high_hz)
        return &hunting;
    if (advice_on_train(part, drive))
        return advice_on_train(part, drive);
    if (direct && part == DW_PART_POLE)
        return &direct_pole;
    if (direct && part == DW_PART_MAINS)
        return &direct_mains;
    if (direct && part == DW_PART_UNKNOWN)
        return &direct_unknown;
    return &advice[part == DW_PART_RECORD ? DW_PART_PLATTER : part];
}

static bool names_part(const DwTraceFinding *finding, DwPart part)
{
    for (size_t i = 0; i < finding->suspect_count; i++)
        if (finding->suspects[i].part == part)
            return true;
    return false;
}

// Whether the lines tell the PAIR apart all the same: each has its own, and none that counts may be either's.
static bool are_parted(const DwTraceFinding *findings, size_t count, const DwTracePair *pair)
{
    bool own[2] = {false, false};
    for (size_t i = 0; i < count; i++) {
        bool either[2] = {names_part(&findings[i], pair->parts[0]), names_part(&findings[i], pair->parts[1])};
        if (either[0] && either[1] && findings[i].share >= LEAST_SHARE)
            return false;
        for (size_t p = 0; p < 2; p++)
            own[p] = own[p] || (either[p] && !either[1 - p] && findings[i].confidence >= SURE);
    }
    return own[0] && own[1];
}

static void remark_pairs(const DwTraceFinding *findings, size_t count, const DwRate *rates, size_t rate_count,
                         double seconds, DwSheet *sheet)
{
    DwTracePair pairs[PAIRS_MOST];
    size_t found = dw_trace_pairs(findings, count, rates, rate_count, seconds, pairs, PAIRS_MOST);
    for (size_t i = 0; i < found; i++) {
        const char *a = dw_part_word(pairs[i].parts[0]), *b = dw_part_word(pairs[i].parts[1]);
        double wanted = ceil(pairs[i].seconds / 5) * 5;
        if (are_parted(findings, count, &pairs[i]))
            continue;
        if (isinf(pairs[i].seconds))
            dw_sheet_remark(sheet, "%s and %s come at the same rate: no recording tells them apart.", a, b);
        else
            dw_sheet_remark(sheet,
                            "%s and %s are too close in rate for %.0f s: record %.0f s more, %.0f s in all, to tell "
                            "them apart.",
                            a, b, seconds, wanted - round(seconds), wanted);
    }
}

// How far PART's rate may be from where its dimensions put it: of a belt also what its stretch on the pulleys is off
// from the middle of the usual (2 to 5 %, common practice), and as much for a worn one.
static double reach_of(const DwRate *part)
{
    static const double STRETCH = 0.03;
    return fmax(2 * part->uncertainty_hz, part->part == DW_PART_BELT ? STRETCH * part->rate_hz : 0);
}

// Whether the joint fit holds a line of PART's own, apart from the platter's.
static bool has_own_line(const DwLineFit *fit, const DwRate *part, double turn_hz)
{
    static const double OWN = 0.3, APART = 0.19; // over the span: as near to its rate, as far from the platter's
    static const double LEAST_OWN = 0.2;         // of the platter's line: less is what blending leaves beside it
    double least = LEAST_OWN * dw_line_amplitude(&fit->line[0], 0);
    for (size_t i = 1; i < fit->count; i++)
        if (dw_line_amplitude(&fit->line[i], 0) >= least &&
            fabs(fit->line[i].rate_hz - part->rate_hz) * fit->span < OWN + reach_of(part) * fit->span &&
            fabs(fit->line[i].rate_hz - turn_hz) * fit->span > APART)
            return true;
    return false;
}

// What a described part that turns nearly as often as the platter adds to what comes once a turn, no fit of a take so
// short takes from it again: the readings hold both and may be all or nothing of the platter's.
// Returned: the remark's part, DW_PART_UNKNOWN where none comes so near.
static DwPart doubt_blended(const DwLineFit *fit, const DwRate *rates, size_t rate_count, double turn_hz,
                            DwSheet *sheet)
{
    static const double NEAR = 0.7; // over the span
    static const char *const keys[] = {"revolution.amplitude", "revolution.eccentricity"};
    const DwRate *near = NULL;
    for (size_t i = 0; i < rate_count && !near; i++)
        if (rates[i].part > DW_PART_RECORD && !rates[i].what &&
            (fabs(rates[i].rate_hz - turn_hz) - reach_of(&rates[i])) * fit->span < NEAR &&
            !has_own_line(fit, &rates[i], turn_hz))
            near = &rates[i];
    bool any = false;
    for (size_t k = 0; near && k < sizeof keys / sizeof *keys; k++) {
        DwReading *reading = dw_sheet_reading(sheet, keys[k]);
        if (!reading || !isfinite(reading->value))
            continue;
        reading->uncertainty = fmax(reading->uncertainty, fabs(reading->value));
        reading->flags |= DW_FLAG_SHORT;
        any = true;
    }
    DwReading *phase = any ? dw_sheet_reading(sheet, "revolution.phase") : NULL;
    if (phase) {
        phase->uncertainty = 180;
        phase->flags |= DW_FLAG_SHORT;
    }
    return any ? near->part : DW_PART_UNKNOWN;
}

static void remark_blended(DwPart part, DwSheet *sheet)
{
    if (part != DW_PART_UNKNOWN)
        dw_sheet_remark(sheet,
                        "The %s turns so nearly as often as the platter that what comes once a turn is both together "
                        "here: it is no measure of either.",
                        dw_part_word(part));
}

// What comes once a turn at most, its ± counted; NAN where it is not told.
static double turn_at_most(const DwSheet *sheet)
{
    const DwReading *reading = dw_sheet_reading(sheet, "revolution.amplitude");
    if (!reading || !isfinite(reading->value))
        return NAN;
    return reading->value + (isfinite(reading->uncertainty) ? reading->uncertainty : 0);
}

// The platter's rate as the parts' rates follow from it, and how far that may be off (standard). Its own line and the
// tone say it twice: where they contradict each other, as in a take too short to part the platter from a belt, either
// may be right.
typedef struct {
    double hz, off_hz;
    double own_off_hz; // of its own line, by which platter and record are known
} Turn;

static Turn settle_turn(const DwSpeedAnalysis *a, const DwSpeedSettings *settings, double turn_hz, double tone_turn_hz)
{
    double stated = settings->tone_tolerance_percent;
    double by_tone = (isfinite(stated) ? stated : TONE_TOLERANCE) / 100 / 2 * turn_hz;
    double by_line = a->turn_off_hz / 2, apart = fabs(turn_hz - tone_turn_hz);
    if (!(apart > 2 * hypot(by_tone, by_line)))
        return (Turn){turn_hz, by_tone, fmin(by_tone, by_line)};
    return (Turn){(turn_hz + tone_turn_hz) / 2, apart / 2, apart / 2};
}

// The rates of the parts at the measured speed. Platter and record are known by their own line.
static size_t list_rates(const DwSpeedSettings *settings, double turn_hz, Turn turn, DwRate rates[DW_RATES_MOST])
{
    DwRate own[DW_RATES_MOST], moved[DW_RATES_MOST];
    size_t count = dw_drive_rates(&settings->drive, 60 * turn.hz, rates);
    dw_drive_rates(&settings->drive, 60 * turn_hz, own);
    dw_drive_rates(&settings->drive, 60 * (turn.hz + turn.off_hz), moved);
    for (size_t i = 0; i < count; i++) {
        double off = moved[i].rate_hz - rates[i].rate_hz;
        if (rates[i].part <= DW_PART_RECORD) {
            rates[i] = own[i];
            off = turn.own_off_hz * own[i].rate_hz / turn_hz;
        }
        rates[i].uncertainty_hz = hypot(rates[i].uncertainty_hz, off);
    }
    return count;
}

const char *dw_speed_what_comes(const DwTraceSuspect *suspect)
{
    if (suspect->what)
        return suspect->what;
    return suspect->turn ? suspect->turn : "";
}

static void add_parts(const DwTraceFinding *findings, size_t count, DwTable *table)
{
    for (size_t row = 0; row < count; row++) {
        char words[100];
        dw_table_set_word(table, row, 4, dw_trace_words(&findings[row], words, sizeof words));
        if (findings[row].suspects[0].harmonic > 0)
            dw_table_set_number(table, row, 5, findings[row].suspects[0].harmonic);
        dw_table_set_number(table, row, 6, findings[row].share);
        dw_table_set_number(table, row, 7, findings[row].confidence);
        dw_table_set_word(table, row, 8, dw_speed_what_comes(&findings[row].suspects[0]));
    }
}

// What turns in each kind of drive, and what tells its rate.
static const struct {
    DwPart part;
    bool of_kind[3]; // belt, idler, direct
    const char *wanted;
} turning[] = {
    {DW_PART_BELT,
     {true, false, false},
     "drive.rim_diameter with drive.pulley_diameter and drive.centre_distance, or with drive.belt_length"},
    {DW_PART_IDLER, {false, true, false}, "drive.idler_diameter and drive.rim_diameter"},
    {DW_PART_MOTOR, {true, true, false}, "drive.motor_speed, or drive.motor_kind with drive.motor_poles"},
    {DW_PART_POLE, {false, false, true}, "drive.poles, and drive.slots where they are known"},
};
enum { TURNING = sizeof turning / sizeof *turning };

// Whether row P is of DRIVE and its rate is not known.
static bool is_missing(size_t p, const DwDrive *drive, const DwRate *rates, size_t rate_count)
{
    for (size_t i = 0; i < rate_count; i++)
        if (rates[i].part == turning[p].part && !rates[i].turn)
            return false;
    return turning[p].of_kind[drive->kind] || (turning[p].part == DW_PART_IDLER && dw_drive_has_between(drive));
}

static bool is_whole(const DwDrive *drive, const DwRate *rates, size_t rate_count)
{
    for (size_t p = 0; p < TURNING; p++)
        if (is_missing(p, drive, rates, rate_count))
            return false;
    return true;
}

// Says which part of this kind of drive may be behind what no described part does, because its rate is not known.
static void remark_undescribed(const DwDrive *drive, const DwRate *rates, size_t rate_count, const DwSuspect *suspects,
                               size_t count, DwSheet *sheet)
{
    bool unexplained = false;
    for (size_t i = 0; i < count; i++)
        unexplained = unexplained || (suspects[i].finding->suspects[0].part == DW_PART_UNKNOWN &&
                                      strcmp(suspects[i].verdict, "too small to matter") != 0);
    for (size_t p = 0; unexplained && p < TURNING; p++)
        if (is_missing(p, drive, rates, rate_count))
            dw_sheet_remark(sheet, "The rate of the %s is not described, so what is unexplained may be its. Give %s.",
                            dw_part_word(turning[p].part), turning[p].wanted);
}

// What else would bring the drive from APART times the speed that was measured to it, where that is a thing often
// stated wrongly.
static void remark_what_fits(const DwDrive *drive, double apart, DwSheet *sheet)
{
    static const double FITS = 0.03; // belts creep and motors lag by that much
    double other_hz = drive->mains_hz < 55 ? 60 : 50, poles = 2 * round(drive->motor_poles * apart / 2);
    if (isfinite(drive->motor_rpm) || isnan(drive->motor_poles))
        return;
    if (fabs(apart * other_hz / drive->mains_hz - 1) < FITS)
        dw_sheet_remark(sheet, "It would fit mains of %g Hz.", other_hz);
    else if (poles >= 2 && fabs(apart * drive->motor_poles / poles - 1) < FITS)
        dw_sheet_remark(sheet, "It would fit a motor of %g poles.", poles);
}

// Says it where what was stated of a drive would turn the platter at quite another speed than it turned: parts are then
// sought where they are not.
static void remark_stated(const DwDrive *drive, double turn_hz, DwSheet *sheet)
{
    static const double CREEP_AND_LOAD = 0.05,
                        SLIP = 0.07;  // of a motor that may be an induction motor (common practice)
    static const double PLATE = 0.25; // how far a motor on direct current may be from its plate
    double rpm = dw_drive_platter_rpm(drive), apart = rpm / (60 * turn_hz);
    double most = CREEP_AND_LOAD + 2 * hypot(dw_drive_ratio_error(drive), dw_drive_motor_error(drive));
    if (drive->motor == DW_MOTOR_UNSTATED)
        most += SLIP;
    if (dw_drive_is_dc(drive))
        most = PLATE;
    if (!(fabs(apart - 1) > most))
        return;
    dw_sheet_remark(
        sheet,
        "By what was stated of motor, pulley and rim the platter would turn at %.4g rpm; it turned at %.4g. "
        "One of these is not this deck's, another step was played, or the drive slips: until that is "
        "settled, the parts named here are in doubt.",
        rpm, 60 * turn_hz);
    remark_what_fits(drive, apart, sheet);
}

static void trace(const DwSpeedAnalysis *a, const DwSpeedSettings *settings, double turn_hz, double tone_turn_hz,
                  DwTable *table, DwSheet *sheet)
{
    DwRate rates[DW_RATES_MOST];
    DwTraceLine lines[DW_FLUTTER_LINES_MOST];
    DwTraceFinding findings[DW_FLUTTER_LINES_MOST];
    DwSuspect *suspects = dw_memory_new(DW_SUSPECTS_MOST, sizeof *suspects);
    size_t rate_count = list_rates(settings, turn_hz, settle_turn(a, settings, turn_hz, tone_turn_hz), rates);
    double seconds = (double)a->count / a->rate_hz, rms = a->unweighted.rms, power = 0;
    for (size_t i = 0; i < a->line_count; i++)
        lines[i] = (DwTraceLine){a->lines[i].frequency_hz, a->lines[i].off_hz, a->lines[i].amplitude};
    for (size_t i = 0; i < a->line_count; i++) // of slow lines that beat, a short take holds less than their powers
        power += a->lines[i].amplitude * a->lines[i].amplitude / 2;
    dw_trace_lines(lines, a->line_count, rates, rate_count, seconds, fmax(rms * rms, power), findings);
    dw_trace_believe(findings, a->line_count, is_whole(&settings->drive, rates, rate_count));
    add_parts(findings, a->line_count, table); // before the next table, which may move this one
    DwPart blended = doubt_blended(&a->joint, rates, rate_count, turn_hz, sheet);
    size_t count = dw_speed_suspects(a, settings, turn_at_most(sheet), findings, suspects);
    dw_speed_suspects_show(suspects, count, settings, sheet);
    remark_stated(&settings->drive, turn_hz, sheet);
    remark_undescribed(&settings->drive, rates, rate_count, suspects, count, sheet);
    dw_speed_rest(a, suspects, count, settings, turn_hz, sheet);
    remark_pairs(findings, a->line_count, rates, rate_count, seconds, sheet);
    remark_blended(blended, sheet);
    free(suspects);
}

void dw_speed_trace(const DwSpeedAnalysis *analysis, const DwSpeedSettings *settings, double turn_hz,
                    double tone_turn_hz, DwSheet *sheet)
{
    static const char *const orders[] = {"frequency|Frequency|Hz|3", "amplitude|Amplitude|% peak|4",
                                         "order|Times the platter's rate||3", NULL};
    static const char *const parts[] = {"frequency|Frequency|Hz|3",
                                        "amplitude|Amplitude|% peak|4",
                                        "order|Times the platter's rate||3",
                                        "off|Frequency within|Hz|4",
                                        "part|Part||0",
                                        "harmonic|Harmonic||2",
                                        "share|Share of the flutter's power|%|1",
                                        "confidence|Confidence||2",
                                        "what|What comes||0",
                                        NULL};
    DwTable *table =
        dw_sheet_add_table(sheet, "flutter.lines", "Strongest flutter lines", settings->drive_given ? parts : orders);
    for (size_t i = 0; i < analysis->line_count; i++) {
        const DwFlutterLine *line = &analysis->lines[i];
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, line->frequency_hz);
        dw_table_set_number(table, row, 1, line->amplitude);
        dw_table_set_number(table, row, 2, line->frequency_hz / turn_hz);
        if (settings->drive_given)
            dw_table_set_number(table, row, 3, 2 * line->off_hz);
    }
    if (settings->drive_given)
        trace(analysis, settings, turn_hz, tone_turn_hz, table, sheet);
    else
        dw_sheet_not_measured(sheet, "part at fault",
                              "the drive is not described. Give drive.kind and its dimensions (drive.pulley_diameter, "
                              "drive.rim_diameter, drive.centre_distance, drive.motor_poles …).");
}
