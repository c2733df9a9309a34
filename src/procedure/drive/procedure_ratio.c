// SPDX-License-Identifier: MIT
// `ratio`: one speed against another, which needs neither a true record nor a
// true clock, and what a wrong ratio usually means.
#include "procedure/registry/procedures.h"
#include "procedure/input/recorded_tone.h"

#include <math.h>
#include <stdbool.h>

typedef struct {
    double ratio;
    const char *meaning;
    const char *cause; // NULL where the ratio is right
    double first_rpm;  // what the first speed should be there
} Row;

// Ratios of the nominal speeds and of the mains frequencies, all exact; what they
// mean is common practice (trade diagnostics, from memory).
static const Row rows[] = {
    {45 / (100.0 / 3), "45 against 33⅓", NULL, 100.0 / 3},
    {78 / (100.0 / 3), "78 against 33⅓", NULL, 100.0 / 3},
    {7200.0 / 92 / (100.0 / 3), "78.26 against 33⅓", NULL, 100.0 / 3},
    {6000.0 / 77 / (100.0 / 3), "77.92 against 33⅓", NULL, 100.0 / 3},
    {78 / 45.0, "78 against 45", NULL, 45},
    {7200.0 / 92 / 45, "78.26 against 45", NULL, 45},
    {6000.0 / 77 / 45, "77.92 against 45", NULL, 45},
    {2, "33⅓ against 16⅔", NULL, 50.0 / 3},
    {1, "no change of speed",
     "The speed does not change: the belt or idler stays on its step, or the switch does nothing.", NAN},
    {60.0 / 50, "60 Hz against 50 Hz",
     "A pulley made for 50 Hz on 60 Hz mains, or a supply of the wrong frequency: everything a fifth too fast.", NAN},
    {50.0 / 60, "50 Hz against 60 Hz",
     "A pulley made for 60 Hz on 50 Hz mains, or a supply of the wrong frequency: everything a sixth too slow.", NAN},
    {1.35 * 60 / 50, "45 against 33⅓, a fifth too much",
     "One step of the pulley, or one of the two recordings, belongs to the other mains frequency.", NAN},
    {1.35 * 50 / 60, "45 against 33⅓, a sixth too little",
     "One step of the pulley, or one of the two recordings, belongs to the other mains frequency.", NAN},
    {1 / 1.35, "33⅓ against 45",
     "The two speeds are the wrong way round: swapped operands, or a belt on the wrong step.", NAN},
};
enum { ROW_COUNT = sizeof rows / sizeof *rows };

// A ratio this near (relative) is the row's; up to the second it is the row's, but out.
static const double right_within = 0.003, near_within = 0.03;
static const double both_within = 0.01; // that a speed may be off which nobody would call wrong

// The ratio as it was got.
typedef struct {
    double value, off; // half-width of the 95 % interval, NAN when unknown
    double first_rpm;  // of the first speed; NAN where only the ratio is known
    const char *method;
} Ratio;

static DwStatus read_operands(const DwInputs *inputs, Ratio *ratio, DwMessage *message)
{
    double speeds = dw_inputs_in(inputs, "ratio.second", "rpm") / dw_inputs_in(inputs, "ratio.first", "rpm");
    double tones = dw_inputs_in(inputs, "ratio.second_tone", "Hz") / dw_inputs_in(inputs, "ratio.first_tone", "Hz");
    if (isnan(speeds) && isnan(tones))
        return dw_fail(message, DW_BAD_INPUT,
                       "ratio needs two speeds or two tones. Give two recordings, or ratio.first and ratio.second, or "
                       "ratio.first_tone and ratio.second_tone of the same band.");
    if (!isnan(speeds) && !isnan(tones))
        return dw_fail(message, DW_BAD_INPUT, "ratio takes two speeds or two tones, not both.");
    bool by_tones = isnan(speeds);
    double value = by_tones ? tones : speeds, off = M_SQRT2 * value * dw_inputs_in(inputs, "ratio.within", "fraction");
    *ratio = (Ratio){value, off, dw_inputs_in(inputs, "ratio.first", "rpm"),
                     by_tones ? "one band's tone at both settings" : "two measured speeds"};
    return DW_OK;
}

// The same band recorded at both settings: the clock and the record cancel.
static DwStatus measure_recordings(const DwRequest *request, DwSheet *sheet, Ratio *ratio, DwMessage *message)
{
    static const char *const operands[] = {"ratio.first", "ratio.second", "ratio.first_tone", "ratio.second_tone"};
    for (size_t i = 0; i < 4; i++)
        if (dw_inputs_given(request->inputs, operands[i]))
            return dw_fail(message, DW_BAD_INPUT, "ratio takes two recordings or %s, not both.", operands[i]);
    if (request->recording_count != 2)
        return dw_fail(message, DW_BAD_INPUT,
                       "ratio needs two recordings of one band: the slower setting first, then the faster.");
    DwRecordedTone tones[2];
    for (size_t i = 0; i < 2; i++) {
        DwStatus status = dw_recorded_tone_measure(request->recordings[i], request->inputs, sheet, &tones[i], message);
        if (status != DW_OK)
            return status;
        dw_sheet_add_reading(sheet, i ? "ratio.tone_second" : "ratio.tone_first", i ? "Second tone" : "First tone",
                             tones[i].frequency_hz, "Hz", 2)
            ->uncertainty = tones[i].off_hz;
    }
    ratio->value = tones[1].frequency_hz / tones[0].frequency_hz;
    ratio->off = ratio->value * hypot(tones[0].off_hz / tones[0].frequency_hz, tones[1].off_hz / tones[1].frequency_hz);
    ratio->first_rpm = isnan(dw_inputs_in(request->inputs, "record.tone", "Hz")) ? NAN : tones[0].speed_rpm;
    ratio->method = "one band's tone recorded at both settings";
    return DW_OK;
}

static const Row *nearest(double ratio)
{
    const Row *best = &rows[0];
    for (size_t i = 1; i < ROW_COUNT; i++)
        if (fabs(log(ratio / rows[i].ratio)) < fabs(log(ratio / best->ratio)))
            best = &rows[i];
    return best;
}

// What the nearest row makes of a ratio, its ± counted.
typedef enum {
    FITS,  // its cause, where it has one; else the two stand right to each other
    OFF,   // it is the row's, but out
    OPEN,  // the ± reaches over what counts as right
    VAGUE, // the ± reaches over more than the row
    FAR    // it is nobody's
} Fit;

static Fit fit_of(const Row *row, double off, double doubt)
{
    double away = fabs(off), least = away - doubt, most = away + doubt;
    if (least > near_within)
        return FAR;
    if (doubt > near_within || away > near_within)
        return VAGUE;
    if (row->cause || most <= right_within)
        return FITS;
    return least > right_within ? OFF : OPEN;
}

// Says in one remark what the ratio means. IS_ABSOLUTE: the first speed is right by itself.
static void remark_fit(DwSheet *sheet, const Row *row, Fit fit, double doubt, bool is_absolute)
{
    switch (fit) {
    case FITS:
        dw_sheet_remark(sheet, "%s",
                        row->cause    ? row->cause
                        : is_absolute ? "The two speeds stand right to each other."
                                      : "Their ratio is right. If both are off alike, look at what they share: motor, "
                                        "mains, belt thickness, driven rim, the record's tone.");
        break;
    case OFF:
        dw_sheet_remark(sheet, "One speed is off against the other: a separate trimmer, the belt not on its step or "
                               "climbing, the idler's height on a stepped shaft, or a worn step.");
        break;
    case OPEN:
        dw_sheet_remark(sheet,
                        "Within ±%.2f %% this may be right or not; up to %.1f %% counts as right. Measure both more "
                        "closely before anything is changed.",
                        100 * doubt, 100 * right_within);
        break;
    case VAGUE:
        dw_sheet_remark(sheet, "Within ±%.1f %% no ratio can be named. Measure both more closely.", 100 * doubt);
        break;
    case FAR:
        dw_sheet_remark(sheet, "No common mistake gives this ratio. Check that both were taken at the settings stated, "
                               "warm, and that belt or idler do not slip.");
        break;
    }
}

// Two speeds may stand right to each other and both be wrong: whether that was said. DOUBT: of the first, a share of
// it.
static bool remark_absolute(DwSheet *sheet, const Row *row, double first_rpm, double doubt)
{
    double off = first_rpm / row->first_rpm - 1;
    if (!isfinite(off) || fabs(off) - doubt < both_within)
        return false;
    const char *cause = fabs(off - 0.2) < near_within
                            ? "A pulley made for 50 Hz on 60 Hz mains, or a supply of the wrong frequency."
                        : fabs(off + 1.0 / 6) < near_within
                            ? "A pulley made for 60 Hz on 50 Hz mains, or a supply of the wrong frequency."
                            : "Look at what they share: motor, mains, belt thickness, driven rim, the record's tone.";
    dw_sheet_remark(sheet, "Both are wrong alike: the first should be %.4g rpm and is %.4g, %.1f %% %s. %s",
                    row->first_rpm, first_rpm, 100 * fabs(off), off > 0 ? "fast" : "slow", cause);
    return true;
}

static void add_table(DwSheet *sheet, double ratio)
{
    static const char *const columns[] = {"ratio|Ratio||4", "off|Measured is off by|%|2", "meaning|Would be||0", NULL};
    DwTable *table = dw_sheet_add_table(sheet, "ratio.causes", "Ratios to compare", columns);
    for (size_t i = 0; i < ROW_COUNT; i++) {
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, rows[i].ratio);
        dw_table_set_number(table, row, 1, 100 * (ratio / rows[i].ratio - 1));
        dw_table_set_word(table, row, 2, rows[i].meaning);
    }
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    Ratio got = {NAN, NAN, NAN, ""};
    DwStatus status = request->recording_count ? measure_recordings(request, sheet, &got, message)
                                               : read_operands(request->inputs, &got, message);
    if (status != DW_OK)
        return status;
    double ratio = got.value;
    const Row *row = nearest(ratio);
    double off = ratio / row->ratio - 1, doubt = isfinite(got.off) ? got.off / row->ratio : 0;
    DwReading *reading = dw_sheet_add_reading(sheet, "ratio.value", "Second speed over first", ratio, "", 4);
    reading->uncertainty = got.off;
    dw_reading_set_method(reading, got.method);
    dw_reading_set_method(
        dw_sheet_add_reading(sheet, "ratio.nearest", "Nearest ratio that means something", row->ratio, "", 4),
        row->meaning);
    dw_sheet_add_reading(sheet, "ratio.off", "Off from it", 100 * off, "%", 2)->uncertainty =
        100 * got.off / row->ratio;
    dw_sheet_add_word(sheet, "ratio.meaning", "What it is nearest to", row->meaning);
    Fit fit = fit_of(row, off, doubt);
    if (fit != FITS || !remark_absolute(sheet, row, got.first_rpm, doubt / M_SQRT2))
        remark_fit(sheet, row, fit, doubt, fabs(got.first_rpm / row->first_rpm - 1) < both_within);
    add_table(sheet, ratio);
    return DW_OK;
}

static const char *const quantities[] = {
    "deck.class",        "ratio.first",  "ratio.second", "ratio.first_tone",
    "ratio.second_tone", "ratio.within", "record.tone",  "record.start",
    "record.end",        "deck.speed",   NULL,
};

const DwProcedure dw_procedure_ratio = {
    .name = "ratio",
    .title = "One speed against another",
    .summary = "Check 45 or 78 against 33⅓, and name the usual causes of a wrong ratio.",
    .quantities = quantities,
    .recordings_most = 2,
    .run = run,
};
