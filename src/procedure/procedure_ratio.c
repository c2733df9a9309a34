// SPDX-License-Identifier: MIT
// `ratio`: one speed against another, which needs neither a true record nor a
// true clock, and what a wrong ratio usually means.
#include "procedure/procedures.h"

#include <math.h>

typedef struct {
    double ratio;
    const char *meaning;
    const char *cause; // NULL where the ratio is right
} Row;

// Ratios of the nominal speeds and of the mains frequencies, all exact; what they
// mean is common practice (trade diagnostics, from memory).
static const Row rows[] = {
    {45 / (100.0 / 3), "45 against 33⅓", NULL},
    {78 / (100.0 / 3), "78 against 33⅓", NULL},
    {7200.0 / 92 / (100.0 / 3), "78.26 against 33⅓", NULL},
    {6000.0 / 77 / (100.0 / 3), "77.92 against 33⅓", NULL},
    {78 / 45.0, "78 against 45", NULL},
    {7200.0 / 92 / 45, "78.26 against 45", NULL},
    {6000.0 / 77 / 45, "77.92 against 45", NULL},
    {2, "33⅓ against 16⅔", NULL},
    {1, "no change of speed",
     "The speed does not change: the belt or idler stays on its step, or the switch does nothing."},
    {60.0 / 50, "60 Hz against 50 Hz",
     "A pulley made for 50 Hz on 60 Hz mains, or a supply of the wrong frequency: everything a fifth too fast."},
    {50.0 / 60, "50 Hz against 60 Hz",
     "A pulley made for 60 Hz on 50 Hz mains, or a supply of the wrong frequency: everything a sixth too slow."},
    {1.35 * 60 / 50, "45 against 33⅓, a fifth too much",
     "One step of the pulley, or one of the two recordings, belongs to the other mains frequency."},
    {1.35 * 50 / 60, "45 against 33⅓, a sixth too little",
     "One step of the pulley, or one of the two recordings, belongs to the other mains frequency."},
    {1 / 1.35, "33⅓ against 45",
     "The two speeds are the wrong way round: swapped operands, or a belt on the wrong step."},
};
enum { ROW_COUNT = sizeof rows / sizeof *rows };

// A ratio this near (relative) is the row's; up to the second it is the row's, but out.
static const double right_within = 0.003, near_within = 0.03;

static DwStatus read_ratio(const DwInputs *inputs, double *ratio, const char **method, DwMessage *message)
{
    double speeds = dw_inputs_number(inputs, "ratio.second") / dw_inputs_number(inputs, "ratio.first");
    double tones = dw_inputs_number(inputs, "ratio.second_tone") / dw_inputs_number(inputs, "ratio.first_tone");
    if (isnan(speeds) && isnan(tones))
        return dw_fail(message, DW_BAD_INPUT,
                       "ratio needs two speeds or two tones. Give ratio.first and ratio.second, or "
                       "ratio.first_tone and ratio.second_tone of the same band.");
    if (!isnan(speeds) && !isnan(tones))
        return dw_fail(message, DW_BAD_INPUT, "ratio takes two speeds or two tones, not both.");
    *ratio = isnan(speeds) ? tones : speeds;
    *method = isnan(speeds) ? "one band's tone at both settings" : "two measured speeds";
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

static const char *cause_of(const Row *row, double off)
{
    if (fabs(off) > near_within)
        return "No common mistake gives this ratio. Check that both were taken at the settings stated, warm, and that "
               "belt or idler do not slip.";
    if (row->cause)
        return row->cause;
    if (fabs(off) <= right_within)
        return "The two speeds stand right to each other. If both are off alike, look at what they share: motor, "
               "mains, "
               "belt thickness, driven rim, the record's tone.";
    return "One speed is off against the other: a separate trimmer, the belt not on its step or climbing, the idler's "
           "height on a stepped shaft, or a worn step.";
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
    double ratio = NAN;
    const char *method = "";
    DwStatus status = read_ratio(request->inputs, &ratio, &method, message);
    if (status != DW_OK)
        return status;
    const Row *row = nearest(ratio);
    double off = ratio / row->ratio - 1;
    dw_reading_set_method(dw_sheet_add_reading(sheet, "ratio.value", "Second speed over first", ratio, "", 4), method);
    dw_reading_set_method(
        dw_sheet_add_reading(sheet, "ratio.nearest", "Nearest ratio that means something", row->ratio, "", 4),
        row->meaning);
    dw_sheet_add_reading(sheet, "ratio.off", "Off from it", 100 * off, "%", 2);
    dw_sheet_add_word(sheet, "ratio.meaning", "What it is nearest to", row->meaning);
    dw_sheet_remark(sheet, "%s", cause_of(row, off));
    add_table(sheet, ratio);
    return DW_OK;
}

static const char *const quantities[] = {
    "deck.class", "ratio.first", "ratio.second", "ratio.first_tone", "ratio.second_tone", NULL,
};

const DwProcedure dw_procedure_ratio = {
    .name = "ratio",
    .title = "One speed against another",
    .summary = "45 or 78 against 33⅓, and the usual causes of a wrong ratio",
    .quantities = quantities,
    .run = run,
};
