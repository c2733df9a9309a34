// SPDX-License-Identifier: MIT
// Traces the lines of a flutter spectrum to the parts of a described drive, and
// says who is suspected, on what evidence, and what would tell.
#include "measure/speed/speed_analysis.h"

#include "base/text.h"
#include "physics/trace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double TONE_TOLERANCE = 0.5; // % that a record's tone may be off (IEC 60098:2020, 5.6), 95 %
static const double LEAST_PERCENT = 0.02; // peak; smaller lines are in every deck and nobody is accused for them
static const double LEAST_SHARE = 3;      // % of the flutter's power, likewise
static const double LEAST_CONFIDENCE = 0.7;
enum { PAIRS_MOST = 8 };

// What is asked of a technician once a part is suspected. Common practice.
static const struct {
    const char *test, *remedy;
} advice[DW_PART_COUNT] = {
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
        {"Belt off or idler lifted, feel and hear the motor run; hold a dial gauge to the pulley and turn it "
         "by hand.",
         "Clean the pulley; true or replace one that does not run true. Look after the motor's bearings as "
         "its maker says."},
    [DW_PART_IDLER] =
        {"Lift the idler off and feel its tread for a dimple or a flat from being parked engaged; mark it "
         "and watch.",
         "Clean and true the tread, or have it re-rubbered or replaced. Leave it disengaged at rest."},
    [DW_PART_POLE] = {"See whether the line moves with the platter's speed: change the speed by its fine control and "
                      "record again.",
                      "Look at the drive's balance of phases and its sensors before the motor itself."},
    [DW_PART_MAINS] = {"Lift the motor or run it off the deck on a soft cloth: vibration goes, electrical pull on the "
                       "platter stays.",
                       "Renew the motor's rubber mounts; check its phase capacitor and the supply's voltage."},
    [DW_PART_UNKNOWN] =
        {"No described part turns at this rate. See whether it changes with the speed set, with the arm "
         "(8 to 15 Hz is where arms resonate) or with the belt off.",
         "A servo that hunts, a resonance of belt and platter or of the arm come into question."},
};

// Lines that point to the same suspects.
typedef struct {
    const DwTraceFinding *finding; // the strongest line's
    char words[100];
    double share, amplitude, frequency_hz, confidence;
    unsigned lines;
} Group;

static size_t add_to_groups(Group *groups, size_t count, const DwTraceFinding *finding, const DwFlutterLine *line)
{
    char words[sizeof groups->words];
    dw_trace_words(finding, words, sizeof words);
    size_t i = 0;
    while (i < count && strcmp(groups[i].words, words) != 0)
        i++;
    if (i == count) { // lines come strongest first
        groups[count++] = (Group){.finding = finding,
                                  .amplitude = line->amplitude,
                                  .frequency_hz = line->frequency_hz,
                                  .confidence = finding->confidence};
        memcpy(groups[i].words, words, sizeof words);
    }
    groups[i].share += finding->share;
    groups[i].lines++;
    return count;
}

static int compare_groups(const void *a, const void *b)
{
    double first = ((const Group *)a)->share, second = ((const Group *)b)->share;
    return (first < second) - (first > second);
}

// Platter and record turn alike and count as one suspect here.
static bool is_single(const DwTraceFinding *finding)
{
    for (size_t i = 1; i < finding->suspect_count; i++)
        if (finding->suspects[i].part > DW_PART_RECORD || finding->suspects[0].part > DW_PART_RECORD)
            return false;
    return true;
}

static bool matters(const Group *group)
{
    return group->amplitude >= LEAST_PERCENT && group->share >= LEAST_SHARE;
}

static const char *verdict_of(const Group *group)
{
    if (!matters(group))
        return "too small to matter";
    if (!is_single(group->finding))
        return "cannot tell";
    if (group->finding->suspects[0].part == DW_PART_UNKNOWN)
        return "no described part";
    return group->confidence >= LEAST_CONFIDENCE ? "suspected" : "cannot tell";
}

// --- the sheet ----------------------------------------------------------------

static void add_suspects(const Group *groups, size_t count, DwSheet *sheet)
{
    static const char *const columns[] = {"suspect|Suspect||0",
                                          "verdict|Verdict||0",
                                          "share|Share of the flutter's power|%|1",
                                          "line|Strongest line|Hz|3",
                                          "amplitude|Its amplitude|% peak|4",
                                          "confidence|Confidence||2",
                                          "lines|Lines||0",
                                          NULL};
    DwTable *table = dw_sheet_add_table(sheet, "flutter.suspects", "Suspects", columns);
    for (size_t i = 0; i < count; i++) {
        size_t row = dw_table_add_row(table);
        dw_table_set_word(table, row, 0, groups[i].words);
        dw_table_set_word(table, row, 1, verdict_of(&groups[i]));
        dw_table_set_number(table, row, 2, groups[i].share);
        dw_table_set_number(table, row, 3, groups[i].frequency_hz);
        dw_table_set_number(table, row, 4, groups[i].amplitude);
        dw_table_set_number(table, row, 5, groups[i].confidence);
        dw_table_set_number(table, row, 6, groups[i].lines);
    }
}

static void remark_group(const Group *group, DwSheet *sheet)
{
    const char *verdict = verdict_of(group);
    DwPart first =
        group->finding->suspects[0].part == DW_PART_RECORD ? DW_PART_PLATTER : group->finding->suspects[0].part;
    if (!matters(group))
        return;
    char *evidence = dw_text_format("%.0f %% of the flutter's power, %.3f %% peak at %.3f Hz%s", group->share,
                                    group->amplitude, group->frequency_hz, group->lines > 1 ? ", with harmonics" : "");
    if (strcmp(verdict, "suspected") == 0)
        dw_sheet_remark(sheet, "Suspected: %s (%s; it turns at this rate). Test: %s Remedy: %s", group->words, evidence,
                        advice[first].test, advice[first].remedy);
    else if (strcmp(verdict, "no described part") == 0)
        dw_sheet_remark(sheet, "Unexplained: %s. %s %s", evidence, advice[first].test, advice[first].remedy);
    else
        dw_sheet_remark(sheet, "Cannot tell: %s (%s). Test first: %s", group->words, evidence, advice[first].test);
    free(evidence);
}

static void remark_pairs(const DwTraceFinding *findings, size_t count, const DwRate *rates, size_t rate_count,
                         double seconds, DwSheet *sheet)
{
    DwTracePair pairs[PAIRS_MOST];
    size_t found = dw_trace_pairs(findings, count, rates, rate_count, seconds, pairs, PAIRS_MOST);
    for (size_t i = 0; i < found; i++) {
        const char *a = dw_part_word(pairs[i].parts[0]), *b = dw_part_word(pairs[i].parts[1]);
        if (isinf(pairs[i].seconds))
            dw_sheet_remark(sheet, "%s and %s come at the same rate: no recording tells them apart.", a, b);
        else
            dw_sheet_remark(sheet,
                            "%s and %s are too close in rate for %.0f s: record %.0f s or more to tell them apart.", a,
                            b, seconds, ceil(pairs[i].seconds / 5) * 5);
    }
}

// The rates of the parts at the measured speed; what follows from the speed is
// as uncertain as the record's tone.
static size_t list_rates(const DwSpeedSettings *settings, double turn_hz, DwRate rates[DW_PART_COUNT])
{
    DwRate moved[DW_PART_COUNT];
    double stated = settings->tone_tolerance_percent;
    double tolerance = (isfinite(stated) ? stated : TONE_TOLERANCE) / 100 / 2;
    size_t count = dw_drive_rates(&settings->drive, 60 * turn_hz, rates);
    dw_drive_rates(&settings->drive, 60 * turn_hz * (1 + tolerance), moved);
    for (size_t i = 0; i < count; i++)
        rates[i].uncertainty_hz = hypot(rates[i].uncertainty_hz, moved[i].rate_hz - rates[i].rate_hz);
    return count;
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
    }
}

static void trace(const DwSpeedAnalysis *a, const DwSpeedSettings *settings, double turn_hz, DwTable *table,
                  DwSheet *sheet)
{
    DwRate rates[DW_PART_COUNT];
    DwTraceLine lines[DW_FLUTTER_LINES_MOST];
    DwTraceFinding findings[DW_FLUTTER_LINES_MOST];
    Group groups[DW_FLUTTER_LINES_MOST];
    size_t rate_count = list_rates(settings, turn_hz, rates), group_count = 0;
    double seconds = (double)a->count / a->rate_hz, rms = a->unweighted.rms;
    for (size_t i = 0; i < a->line_count; i++)
        lines[i] = (DwTraceLine){a->lines[i].frequency_hz, a->lines[i].off_hz, a->lines[i].amplitude};
    dw_trace_lines(lines, a->line_count, rates, rate_count, seconds, rms > 0 ? rms * rms : NAN, findings);
    add_parts(findings, a->line_count, table); // before the next table, which may move this one
    for (size_t i = 0; i < a->line_count; i++)
        group_count = add_to_groups(groups, group_count, &findings[i], &a->lines[i]);
    qsort(groups, group_count, sizeof *groups, compare_groups);
    add_suspects(groups, group_count, sheet);
    bool any = false;
    for (size_t i = 0; i < group_count; i++) {
        remark_group(&groups[i], sheet);
        any = any || matters(&groups[i]);
    }
    if (!any)
        dw_sheet_remark(sheet,
                        "No line is strong enough to suspect a part: under %g %% peak or %g %% of the flutter's "
                        "power.",
                        LEAST_PERCENT, LEAST_SHARE);
    else
        dw_sheet_caution(sheet,
                         "Pull the mains plug before reaching in; keep fingers, hair and sleeves from what turns.");
    remark_pairs(findings, a->line_count, rates, rate_count, seconds, sheet);
}

void dw_speed_trace(const DwSpeedAnalysis *analysis, const DwSpeedSettings *settings, double turn_hz, DwSheet *sheet)
{
    static const char *const orders[] = {"frequency|Frequency|Hz|3", "amplitude|Amplitude|% peak|4",
                                         "order|Times the platter's rate||3", NULL};
    static const char *const parts[] = {"frequency|Frequency|Hz|3",
                                        "amplitude|Amplitude|% peak|4",
                                        "order|Times the platter's rate||3",
                                        "off|Frequency within|Hz|4",
                                        "part|Part||0",
                                        "harmonic|Harmonic||0",
                                        "share|Share of the flutter's power|%|1",
                                        "confidence|Confidence||2",
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
        trace(analysis, settings, turn_hz, table, sheet);
    else
        dw_sheet_not_measured(sheet, "part at fault",
                              "the drive is not described. Give drive.kind and its dimensions (drive.pulley_diameter, "
                              "drive.rim_diameter, drive.centre_distance, drive.motor_poles …).");
}
