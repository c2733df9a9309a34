// SPDX-License-Identifier: MIT
#include "procedure/registry/procedures.h"

#include "physics/riaa.h"

#include <math.h>

// Third octaves between the frequencies that test records and preamplifier
// sheets use besides.
static const double standard_hz[] = {10,   16,   20,   25,   31.5, 40,   50,   63,    80,    100,   125,
                                     160,  200,  250,  315,  400,  500,  630,  800,   1000,  1250,  1600,
                                     2000, 2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500, 16000, 20000};

static void add_corners(DwSheet *sheet)
{
    static const struct {
        const char *key, *label;
        double time_constant_s;
    } corners[] = {
        {"riaa.corner_bass", "Corner of 3180 µs", DW_RIAA_BASS},
        {"riaa.corner_middle", "Corner of 318 µs", DW_RIAA_MIDDLE},
        {"riaa.corner_treble", "Corner of 75 µs", DW_RIAA_TREBLE},
        {"riaa.corner_subsonic", "Corner of 7950 µs", DW_RIAA_SUBSONIC},
    };
    for (size_t i = 0; i < sizeof corners / sizeof *corners; i++) {
        DwReading *reading = dw_sheet_add_reading(sheet, corners[i].key, corners[i].label,
                                                  dw_riaa_corner_hz(corners[i].time_constant_s), "Hz", 2);
        dw_reading_set_method(reading, "1/(2π × time constant)");
    }
}

static void add_table(DwSheet *sheet, const DwInputs *inputs)
{
    static const char *const columns[] = {"frequency|Frequency|Hz|1", "replay|Replay|dB|3",
                                          "replay_subsonic|Replay with 7950 µs|dB|3", "recording|Recording|dB|3", NULL};
    DwTable *table = dw_sheet_add_table(sheet, "riaa.table", "Levels relative to 1 kHz", columns);
    size_t chosen = dw_inputs_count(inputs, "riaa.frequency");
    size_t count = chosen ? chosen : sizeof standard_hz / sizeof *standard_hz;
    for (size_t i = 0; i < count; i++) {
        double frequency = chosen ? dw_inputs_in_at(inputs, "riaa.frequency", i, "Hz") : standard_hz[i];
        double replay = dw_riaa_replay_db(frequency, false);
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, frequency);
        dw_table_set_number(table, row, 1, replay);
        dw_table_set_number(table, row, 2, dw_riaa_replay_db(frequency, true));
        dw_table_set_number(table, row, 3, -replay);
    }
}

static void add_curve(DwSheet *sheet, const char *key, const char *label, bool subsonic)
{
    enum { POINTS = 241 };
    DwCurve *curve = dw_sheet_add_curve(sheet, key, label, (DwAxis){"Frequency", "Hz"},
                                        (DwAxis){"Replay level re 1 kHz", "dB"}, POINTS);
    for (size_t i = 0; i < POINTS; i++) {
        curve->x_values[i] = 5 * pow(40000.0 / 5, (double)i / (POINTS - 1));
        curve->y_values[i] = dw_riaa_replay_db(curve->x_values[i], subsonic);
    }
}

// Holds measured levels against both curves; the nearer one says which the preamplifier has.
static void add_measured(DwSheet *sheet, const DwInputs *inputs)
{
    size_t count = dw_inputs_count(inputs, "riaa.measured");
    if (count == 0)
        return;
    static const char *const columns[] = {"frequency|Frequency|Hz|1", "measured|Measured|dB|2",
                                          "deviation|From the curve|dB|2",
                                          "deviation_subsonic|From the curve with 7950 µs|dB|2", NULL};
    DwTable *table = dw_sheet_add_table(sheet, "riaa.measured", "The preamplifier against the curve", columns);
    double worst[2] = {0, 0};
    for (size_t i = 0; i < count; i++) {
        double frequency, level;
        dw_inputs_pair_in(inputs, "riaa.measured", i, "Hz", "dB", &frequency, &level);
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, frequency);
        dw_table_set_number(table, row, 1, level);
        for (int subsonic = 0; subsonic < 2; subsonic++) {
            double deviation = level - dw_riaa_replay_db(frequency, subsonic);
            dw_table_set_number(table, row, 2 + (size_t)subsonic, deviation);
            worst[subsonic] = fmax(worst[subsonic], fabs(deviation));
        }
    }
    dw_sheet_add_estimate(sheet, "riaa.deviation", "Greatest deviation", worst[0], "dB", 2, NAN,
                          "measured less the curve of three time constants");
    dw_sheet_add_estimate(sheet, "riaa.deviation_subsonic", "Greatest deviation, 7950 µs curve", worst[1], "dB", 2, NAN,
                          "measured less the curve of four time constants");
    if (fabs(worst[0] - worst[1]) > 0.3)
        dw_sheet_remark(sheet, "The preamplifier follows the curve %s the 7950 µs term more closely.",
                        worst[1] < worst[0] ? "with" : "without");
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    (void)message;
    add_corners(sheet);
    add_measured(sheet, request->inputs);
    add_table(sheet, request->inputs);
    add_curve(sheet, "riaa.replay", "RIAA replay", false);
    add_curve(sheet, "riaa.replay_subsonic", "RIAA replay with 7950 µs", true);
    dw_sheet_remark(sheet, "Recording levels are velocities: a record cut to this curve plays back level through the "
                           "replay curve. The 7950 µs term is in replay only; nothing on the record makes up for it.");
    dw_sheet_remark(sheet, "Feeding a preamplifier: the signal falls by 40 dB from 20 Hz to 20 kHz, so set the "
                           "generator at 1 kHz well below overload and watch the bass end.");
    return DW_OK;
}

static const char *const quantities[] = {"riaa.frequency", "riaa.measured", NULL};

const DwProcedure dw_procedure_riaa = {
    .name = "riaa",
    .title = "Replay equalisation",
    .summary = "Give the RIAA curve at standard or chosen frequencies, and compare a preamplifier with it.",
    .quantities = quantities,
    .bare_word = "riaa.frequency",
    .run = run,
};
