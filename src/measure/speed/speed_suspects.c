// SPDX-License-Identifier: MIT
#include "measure/speed/speed_suspects.h"

#include "base/saying.h"
#include "base/text.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

static const double GOOD_FLUTTER = 0.1, GOOD_TURN = 0.14; // a hi-fi deck's, where no class was stated (data/limits)
static const double PART_OF_LIMIT = 0.4;  // of what is good: no less is suspected for a deck that is not good
static const double LEAST_OF_LIMIT = 0.2; // nor of what is worst there
static const double LARGE_SHARE = 30;     // % of the flutter's power
static const double LEAST_SHARE = 3;      // % of the flutter's power, of what is named at all
static const double LEAST_CONFIDENCE = 0.7;
static const double BESIDE_WORST = 0.4, BESIDE_SHARE = 10; // of the worst one's severity; % of power: named beside it
static const double FAMILY_SIGMAS = 3,
                    FAMILY_TURNS = 0.02;               // of its uncertainty; over the take: what no fit tells apart
static const double NEARLY = 0.7, JUST_BEYOND = 1.001; // of what is good: so near that a ± may reach beyond; beyond it
static const double SLOW = 1.05; // of the platter's rate: what is slower is held to what is good once a turn
static const double PULSE = 2.4; // peak over effective value: a sine has 1.4, two sines at most 2
static const unsigned PULSE_LINES = 3;
enum { PICTURES_MOST = 3, POINTS = 181 };

double dw_speed_good_flutter(const DwSpeedSettings *settings)
{
    return isfinite(settings->good_flutter) ? settings->good_flutter : GOOD_FLUTTER;
}

static double good_turn(const DwSpeedSettings *settings)
{
    return isfinite(settings->good_turn) ? settings->good_turn : GOOD_TURN;
}

static bool is_platter(DwPart part)
{
    return part <= DW_PART_RECORD;
}

// Platter and record turn alike and count as one suspect here.
static bool is_single(const DwTraceFinding *finding)
{
    for (size_t i = 1; i < finding->suspect_count; i++)
        if (!is_platter(finding->suspects[i].part) || !is_platter(finding->suspects[0].part))
            return false;
    return true;
}

// Whether A and B are turns of one thing: one a multiple of the other, as nearly as both are known and rates within
// SAME_HZ are told apart.
static bool are_family(const DwFlutterLine *a, double b_hz, double b_off_hz, double same_hz)
{
    bool above = a->frequency_hz > b_hz;
    double low = above ? b_hz : a->frequency_hz, high = above ? a->frequency_hz : b_hz;
    double times = round(high / low), low_off = above ? b_off_hz : a->off_hz, high_off = above ? a->off_hz : b_off_hz;
    double within = fmax(FAMILY_SIGMAS * hypot(high_off, times * low_off), times * same_hz);
    return times >= 2 && fabs(high - times * low) < within;
}

static bool belongs(const DwSpeedAnalysis *analysis, const DwSuspect *suspect, const char *words,
                    const DwTraceFinding *finding, const DwFlutterLine *line)
{
    if (strcmp(suspect->words, words) != 0 || finding->suspects[0].turn != suspect->finding->suspects[0].turn)
        return false;
    double same_hz = FAMILY_TURNS * analysis->rate_hz / (double)analysis->count;
    return finding->suspects[0].part != DW_PART_UNKNOWN ||
           are_family(line, suspect->frequency_hz, line->off_hz, same_hz);
}

// The part's own turn by its lines: the one that is known best.
static void find_turn(const DwSpeedAnalysis *analysis, const DwTraceFinding *findings, DwSuspect *suspect)
{
    double best = INFINITY;
    suspect->turn_hz = NAN;
    if (!is_single(suspect->finding))
        return;
    for (size_t i = 0; i < analysis->line_count; i++) {
        const DwTraceSuspect *first = &findings[i].suspects[0];
        double off = analysis->lines[i].off_hz / first->harmonic;
        const DwTraceSuspect *its = &suspect->finding->suspects[0];
        bool same = first->part == its->part && first->turn == its->turn && first->part < DW_PART_POLE && !first->what;
        if (!same || !is_single(&findings[i]) || off >= best)
            continue;
        best = off;
        suspect->turn_hz = analysis->lines[i].frequency_hz / first->harmonic;
    }
}

static double severity_of(const DwSuspect *suspect, const DwSpeedSettings *settings, double turn_most)
{
    double severity = dw_waveform_weighted(&suspect->waveform) / dw_speed_good_flutter(settings);
    // The weighting all but hides what is slower than the platter, and that drags the pitch no less.
    bool is_slow = suspect->frequency_hz < SLOW * settings->speed_rpm / 60;
    bool is_turn = is_platter(suspect->finding->suspects[0].part) && suspect->finding->suspects[0].harmonic == 1;
    if (is_slow || is_turn)
        severity = fmax(severity, suspect->amplitude / good_turn(settings));
    // What comes once a turn is not called good by one line of the sheet and suspected by none.
    if (is_turn && severity >= NEARLY && turn_most > good_turn(settings))
        severity = fmax(severity, JUST_BEYOND);
    return severity;
}

// What is more than good comes first, the worst of it before all; the rest by its share.
static int compare(const void *a, const void *b)
{
    const DwSuspect *first = a, *second = b;
    if (first->is_guilty != second->is_guilty)
        return first->is_guilty ? -1 : 1;
    double one = first->is_guilty ? first->severity : first->share;
    double other = first->is_guilty ? second->severity : second->share;
    return (one < other) - (one > other);
}

// The upper end of a reading's interval.
static double at_most(double value, double off)
{
    return value + (isfinite(off) ? off : 0);
}

// Whether the sheet will call the flutter good: the whole interval of both readings.
static bool is_good(const DwSpeedAnalysis *analysis, const DwSpeedSettings *settings)
{
    const DwFluctuation *weighted = &analysis->weighted;
    return fmax(at_most(weighted->two_sigma, weighted->two_sigma_off),
                at_most(weighted->quasi_peak, weighted->quasi_peak_off)) <= dw_speed_good_flutter(settings);
}

// Sets who is guilty: what alone is more than good; on a deck that is not good also what comes near it, and what is
// worst.
static void find_guilty(DwSuspect *suspects, size_t count, bool good)
{
    double worst = 0;
    for (size_t i = 0; i < count; i++)
        worst = fmax(worst, suspects[i].severity);
    for (size_t i = 0; i < count; i++) {
        double severity = suspects[i].severity;
        bool leads = severity >= worst && severity >= LEAST_OF_LIMIT;
        bool bulks = severity >= LEAST_OF_LIMIT && suspects[i].share >= LARGE_SHARE;
        suspects[i].is_guilty = severity > 1 || (!good && (severity >= PART_OF_LIMIT || leads || bulks));
    }
}

static size_t group(const DwSpeedAnalysis *analysis, const DwTraceFinding *findings, DwSuspect *suspects)
{
    size_t count = 0;
    for (size_t l = 0; l < analysis->line_count; l++) { // lines come strongest first
        char words[sizeof suspects->words];
        const DwFlutterLine *line = &analysis->lines[l];
        dw_trace_words(&findings[l], words, sizeof words);
        size_t i = 0;
        while (i < count && !belongs(analysis, &suspects[i], words, &findings[l], line))
            i++;
        if (i == count) {
            suspects[count++] = (DwSuspect){.finding = &findings[l],
                                            .amplitude = line->amplitude,
                                            .frequency_hz = line->frequency_hz,
                                            .confidence = findings[l].confidence};
            memcpy(suspects[i].words, words, sizeof words);
        }
        dw_waveform_add(&suspects[i].waveform, analysis, line);
        suspects[i].lines++;
    }
    return count;
}

// The verdict on SUSPECT, the WORST severity known.
static const char *verdict_of(const DwSuspect *suspect, double worst)
{
    bool is_large = suspect->severity >= BESIDE_WORST * worst || suspect->share >= BESIDE_SHARE;
    if (suspect->share < LEAST_SHARE || (!suspect->is_guilty && !is_large))
        return "too small to matter";
    if (!is_single(suspect->finding) || suspect->confidence < LEAST_CONFIDENCE)
        return "cannot tell";
    if (!suspect->is_guilty)
        return "largest share";
    return suspect->finding->suspects[0].part == DW_PART_UNKNOWN ? "no described part" : "suspected";
}

size_t dw_speed_suspects(const DwSpeedAnalysis *analysis, const DwSpeedSettings *settings, double turn_most,
                         const DwTraceFinding *findings, DwSuspect suspects[DW_SUSPECTS_MOST])
{
    size_t count = group(analysis, findings, suspects);
    double all = analysis->unweighted.rms * analysis->unweighted.rms, lines = 0, worst = 0;
    for (size_t i = 0; i < count; i++) {
        DwSuspect *suspect = &suspects[i];
        find_turn(analysis, findings, suspect);
        if (isfinite(suspect->turn_hz) && suspect->lines >= PULSE_LINES &&
            !is_platter(suspect->finding->suspects[0].part))
            suspect->lines += dw_waveform_complete(&suspect->waveform, analysis, suspect->turn_hz);
        suspect->severity = severity_of(suspect, settings, turn_most);
        lines += dw_waveform_power(&suspect->waveform);
        worst = fmax(worst, suspect->severity);
    }
    all = fmax(all, lines);
    for (size_t i = 0; i < count; i++)
        suspects[i].share = all > 0 ? 100 * dw_waveform_power(&suspects[i].waveform) / all : 0;
    find_guilty(suspects, count, is_good(analysis, settings));
    qsort(suspects, count, sizeof *suspects, compare);
    for (size_t i = 0; i < count; i++)
        suspects[i].verdict = verdict_of(&suspects[i], worst);
    return count;
}

// --- the sheet ----------------------------------------------------------------

static void add_table(const DwSuspect *suspects, size_t count, DwSheet *sheet)
{
    static const char *const columns[] = {"suspect|Suspect||0",
                                          "verdict|Verdict||0",
                                          "share|Share of the flutter's power|%|1",
                                          "line|Strongest line|Hz|3",
                                          "amplitude|Its amplitude|% peak|4",
                                          "confidence|Confidence||2",
                                          "lines|Lines||0",
                                          "peak|All its lines|% peak|4",
                                          "what|What comes||0",
                                          NULL};
    DwTable *table = dw_sheet_add_table(sheet, "flutter.suspects", "Suspects", columns);
    for (size_t i = 0; i < count; i++) {
        size_t row = dw_table_add_row(table);
        dw_table_set_word(table, row, 0, suspects[i].words);
        dw_table_set_word(table, row, 1, suspects[i].verdict);
        dw_table_set_number(table, row, 2, suspects[i].share);
        dw_table_set_number(table, row, 3, suspects[i].frequency_hz);
        dw_table_set_number(table, row, 4, suspects[i].amplitude);
        dw_table_set_number(table, row, 5, suspects[i].confidence);
        dw_table_set_number(table, row, 6, suspects[i].lines);
        dw_table_set_number(table, row, 7, dw_waveform_peak(&suspects[i].waveform));
        dw_table_set_word(table, row, 8, dw_speed_what_comes(&suspects[i].finding->suspects[0]));
    }
}

// What kind of thing the part does: "cogging", "three times a turn" …; "it turns at this rate" in general.
static char *manner_of(const DwSuspect *suspect)
{
    const DwTraceSuspect *first = &suspect->finding->suspects[0];
    double effective = sqrt(dw_waveform_power(&suspect->waveform)), peak = dw_waveform_peak(&suspect->waveform);
    if (first->turn && first->part == DW_PART_BELT)
        return dw_saying_phrase("the first belt, from the motor to the wheel between");
    if (first->turn)
        return dw_saying_phrase("another motor on the belt, as far as their rates tell");
    if (first->what)
        return dw_saying_phrase("%s, %.4g times the rate of its %s", first->what, first->harmonic,
                                first->part == DW_PART_POLE ? "poles" : "turn");
    if (first->part == DW_PART_MAINS)
        return first->harmonic == 1   ? dw_saying_phrase("it comes at the mains frequency")
               : first->harmonic == 2 ? dw_saying_phrase("it comes at twice the mains frequency")
                                      : dw_saying_phrase("it comes at %.4g times the mains frequency", first->harmonic);
    if (first->part == DW_PART_UNKNOWN)
        return dw_saying_phrase("no described part turns at this rate");
    if (suspect->lines >= PULSE_LINES && peak > PULSE * effective)
        return dw_saying_phrase("a short pulse each turn, %.3f %% peak", peak);
    if (is_platter(first->part) && first->harmonic == 2)
        return dw_saying_phrase("twice a turn: a record warped like a saddle, or an oval rim");
    if (is_platter(first->part) && first->harmonic == 3)
        return dw_saying_phrase("three times a turn: a record warped in three waves, or a three-armed sub-platter");
    return dw_saying_phrase("it turns at this rate");
}

// What tells poles from the tacho's lines where both come at one rate.
static const char pole_or_tacho[] =
    "Look at the tacho's signal with a scope, once round: uneven pulses are the tacho's, even ones leave the motor's "
    "poles, whose steps are felt when the platter is turned by hand, unplugged.";

static bool names(const DwTraceFinding *finding, DwPart part)
{
    for (size_t i = 0; i < finding->suspect_count; i++)
        if (finding->suspects[i].part == part)
            return true;
    return false;
}

static void remark_one(const DwSuspect *suspect, const DwSpeedSettings *settings, DwSheet *sheet)
{
    DwPart part = suspect->finding->suspects[0].part;
    const DwSpeedAdvice *advice = dw_speed_advice(part, &settings->drive, suspect->frequency_hz);
    char *manner = manner_of(suspect);
    double share = suspect->share, peak = suspect->amplitude, at_hz = suspect->frequency_hz;
    const char *harmonics = suspect->lines > 1 ? ", with harmonics" : "";
    if (strcmp(suspect->verdict, "suspected") == 0)
        dw_sheet_remark(sheet,
                        "Suspected: %s (%.0f %% of the flutter's power, %.3f %% peak at %.3f Hz%s; %s). Test: %s "
                        "Remedy: %s",
                        suspect->words, share, peak, at_hz, harmonics, manner, advice->test, advice->remedy);
    else if (strcmp(suspect->verdict, "largest share") == 0)
        dw_sheet_remark(sheet,
                        "Largest share: %s (%.0f %% of the flutter's power, %.3f %% peak at %.3f Hz%s; %s). By itself "
                        "it is good: it is not suspected.",
                        suspect->words, share, peak, at_hz, harmonics, manner);
    else if (strcmp(suspect->verdict, "no described part") == 0)
        dw_sheet_remark(sheet, "Unexplained: %.0f %% of the flutter's power, %.3f %% peak at %.3f Hz%s. %s %s", share,
                        peak, at_hz, harmonics, advice->test, advice->remedy);
    else if (strcmp(suspect->verdict, "cannot tell") == 0)
        dw_sheet_remark(sheet,
                        "Cannot tell: %s (%.0f %% of the flutter's power, %.3f %% peak at %.3f Hz%s). Test first: %s",
                        suspect->words, share, peak, at_hz, harmonics,
                        names(suspect->finding, DW_PART_TACHO) && names(suspect->finding, DW_PART_POLE) ? pole_or_tacho
                                                                                                        : advice->test);
    free(manner);
}

static const char *const once_round[DW_PART_COUNT] = {
    [DW_PART_PLATTER] = "What the platter or record does once round",
    [DW_PART_RECORD] = "What the platter or record does once round",
    [DW_PART_BELT] = "What the belt does once round",
    [DW_PART_MOTOR] = "What the motor does once round",
    [DW_PART_IDLER] = "What the idler does once round",
    [DW_PART_POLE] = "What the poles do once round",
    [DW_PART_TACHO] = "What the tacho does once round",
    [DW_PART_MAINS] = "What the mains does once a cycle",
    [DW_PART_UNKNOWN] = "What it does once round",
};

// What the likeliest part does to the speed once round.
static void add_picture(const DwSuspect *suspect, DwSheet *sheet)
{
    const DwTraceSuspect *first = &suspect->finding->suspects[0];
    const char *label = !first->turn                  ? once_round[first->part]
                        : first->part == DW_PART_BELT ? "What the first belt does once round"
                                                      : "What the other motor does once round";
    const char *other = first->turn;
    char *key = dw_text_format("turn.%s%.*s", other ? "other_" : "", (int)strcspn(suspect->words, " "), suspect->words);
    if (!dw_sheet_curve(sheet, key)) {
        DwCurve *curve = dw_sheet_add_curve(sheet, key, label, (DwAxis){"Turn of the part", ""},
                                            (DwAxis){"Speed deviation by the part's lines", "%"}, POINTS);
        for (size_t i = 0; i < POINTS; i++) {
            double turn = (double)i / (POINTS - 1);
            curve->x_values[i] = turn;
            curve->y_values[i] = dw_waveform_at(&suspect->waveform, turn / suspect->turn_hz, false);
        }
    }
    free(key);
}

void dw_speed_suspects_show(const DwSuspect *suspects, size_t count, const DwSpeedSettings *settings, DwSheet *sheet)
{
    bool any = false;
    size_t pictures = 0;
    add_table(suspects, count, sheet);
    for (size_t i = 0; i < count; i++) {
        bool told = strcmp(suspects[i].verdict, "too small to matter") != 0;
        remark_one(&suspects[i], settings, sheet);
        if (told && isfinite(suspects[i].turn_hz) && pictures++ < PICTURES_MOST)
            add_picture(&suspects[i], sheet);
        any = any || (told && strcmp(suspects[i].verdict, "largest share") != 0);
    }
    if (!any)
        dw_sheet_remark(sheet,
                        "No line is strong enough to suspect a part: what is good for this class of deck is %g "
                        "%% weighted and %g %% peak once a turn.",
                        dw_speed_good_flutter(settings), good_turn(settings));
    else
        dw_sheet_caution(sheet,
                         "Pull the mains plug before reaching in; keep fingers, hair and sleeves from what turns.");
}
