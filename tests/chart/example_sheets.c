// SPDX-License-Identifier: MIT
#include "chart/example_sheets.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

static const double turn = 1.8;       // s, at 33⅓ rpm
static const double belt_turn = 2.16; // s, a belt 1.2 times as long as its path round the platter
static const double motor_hz = 5.0;

// Noise that is the same in every run (Knuth's 64-bit linear congruential multiplier).
static double noise(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (double)(*state >> 11) / 9007199254740992.0 - 0.5;
}

static double deviation(double time, double mean, double wow)
{
    return mean + wow * sin(2 * M_PI * time / turn) + 0.4 * wow * sin(2 * M_PI * time / belt_turn + 1) +
           0.15 * wow * sin(2 * M_PI * motor_hz * time);
}

static void add_readings(DwSheet *sheet, double mean, double wow)
{
    const DwRange none = {NAN, NAN};
    DwReading *reading = dw_sheet_add_reading(sheet, "speed.error", "Speed error", mean, "%", 2);
    reading->uncertainty = 0.03;
    dw_reading_set_limit(reading, (DwRange){-0.8, 0.8}, (DwRange){-0.3, 0.3}, "common practice");
    dw_reading_set_method(reading, "phase of the 3150\u202fHz tone");
    reading = dw_sheet_add_reading(sheet, "speed.drift", "Drift over the side", 0.06, "%/min", 2);
    dw_reading_set_limit(reading, (DwRange){-0.2, 0.2}, none, "common practice");
    reading = dw_sheet_add_reading(sheet, "flutter.weighted", "Wow and flutter, weighted peak", 0.62 * wow, "%", 3);
    reading->uncertainty = 0.008;
    dw_reading_set_limit(reading, (DwRange){NAN, 0.2}, (DwRange){NAN, 0.1}, "class of the deck, from memory");
    dw_reading_set_method(reading, "weighted quasi-peak, two-sigma");
    reading = dw_sheet_add_reading(sheet, "flutter.wow", "Wow, unweighted", wow, "%", 2);
    reading->uncertainty = 0.02;
    reading->flags = DW_FLAG_SHORT;
    dw_reading_set_limit(reading, (DwRange){NAN, 0.25}, none, "common practice");
    dw_sheet_add_reading(sheet, "flutter.fast", "Flutter, unweighted", 0.03, "%", 2);
    reading = dw_sheet_add_reading(sheet, "speed.deviation", "Largest deviation", mean + 1.5 * wow, "%", 2);
    dw_reading_set_limit(reading, (DwRange){-0.8, 0.8}, none, "common practice");
    dw_sheet_add_word(sheet, "speed.direction", "Sounds", "5 cents sharp");
    reading = dw_sheet_add_reading(sheet, "revolution.period", "Revolution", turn, "s", 4);
    reading->uncertainty = 0.0005;
    dw_sheet_add_reading(sheet, "speed.rpm", "Speed", 33.393, "rpm", 2);
}

static void add_pictures(DwSheet *sheet, double mean, double wow)
{
    enum { COUNT = 2910, ROWS = 32, COLUMNS = 180 };
    uint64_t state = 1;
    DwCurve *curve = dw_sheet_add_curve(sheet, "speed.deviation", "Speed deviation", (DwAxis){"Time", "s"},
                                        (DwAxis){"Deviation", "%"}, COUNT);
    for (size_t i = 0; i < COUNT; i++) {
        curve->x_values[i] = 0.02 * (double)i;
        bool is_gap = i > 1900 && i < 1990;
        curve->y_values[i] = is_gap ? NAN : deviation(curve->x_values[i], mean, wow) + 0.02 * noise(&state);
    }
    DwRaster *raster = dw_sheet_add_raster(sheet, "revolution.raster", "Speed, revolution by revolution",
                                           (DwAxis){"Angle", "deg"}, (DwAxis){"Revolution", ""}, "%", ROWS, COLUMNS);
    raster->across_span = 360;
    raster->down_start = 1;
    raster->down_step = 1;
    for (size_t i = 0; i < ROWS * COLUMNS; i++) {
        double time = turn * (double)i / COLUMNS;
        bool is_gap = time > 38 && time < 39.8;
        raster->values[i] = is_gap ? NAN : (float)(deviation(time, 0, wow) + 0.02 * noise(&state));
    }
}

// A line of a spectrum as a narrow bell, so that its top is where it belongs.
static double bell(double frequency, double centre, double height)
{
    double off = log(frequency / centre) / 0.012;
    return height * exp(-off * off);
}

static void add_spectrum(DwSheet *sheet, double wow)
{
    enum { COUNT = 2000 };
    static const char *const columns[] = {"frequency|Frequency|Hz|3", "amplitude|Amplitude|%|3", "part|Part||0", NULL};
    const struct {
        double frequency, share;
        const char *part;
    } lines[] = {{1 / turn, 1, "platter"},       {1 / belt_turn, 0.4, "belt"}, {motor_hz, 0.15, "motor pulley"},
                 {2 / turn, 0.08, "platter ×2"}, {50, 0.05, "mains"},          {100, 0.09, "mains ×2"}};
    uint64_t state = 7;
    DwCurve *curve = dw_sheet_add_curve(sheet, "flutter.spectrum", "Flutter spectrum", (DwAxis){"Frequency", "Hz"},
                                        (DwAxis){"Amplitude", "%"}, COUNT);
    DwTable *table = dw_sheet_add_table(sheet, "flutter.lines", "Lines", columns);
    for (size_t i = 0; i < COUNT; i++) {
        double frequency = 0.15 * pow(200 / 0.15, (double)i / (COUNT - 1));
        curve->x_values[i] = frequency;
        curve->y_values[i] = 0.006 * wow * (1 + noise(&state));
        for (size_t j = 0; j < sizeof lines / sizeof *lines; j++)
            curve->y_values[i] += bell(frequency, lines[j].frequency, lines[j].share * wow);
    }
    for (size_t j = 0; j < sizeof lines / sizeof *lines; j++) {
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, lines[j].frequency);
        dw_table_set_number(table, row, 1, lines[j].share * wow);
        dw_table_set_word(table, row, 2, lines[j].part);
    }
}

DwSheet *example_speed_sheet(double mean, double wow)
{
    DwSheet *sheet = dw_sheet_new("speed", "Speed, wow and flutter");
    DwInputs *inputs = dw_inputs_new();
    dw_inputs_set(inputs, "deck.speed", "33 1/3", NULL);
    dw_sheet_set_subject(sheet, "bench-take-07.wav");
    dw_sheet_add_input(sheet, inputs, dw_quantity_find("deck.speed"));
    dw_inputs_free(inputs);
    add_readings(sheet, mean, wow);
    add_pictures(sheet, mean, wow);
    add_spectrum(sheet, wow);
    dw_sheet_remark(sheet, "The platter's own wow stands upright in the raster: look at the record's centring before "
                           "the bearing. The belt adds a slanting stripe of about a third of it.");
    dw_sheet_remark(sheet, "A listener hears the music 5 cents sharp, which most do not notice.");
    dw_sheet_caution(sheet, "Lay the mains lead aside before you open the deck: capacitors hold their charge for a "
                            "while after it is unplugged. Leave mains work to those licensed for it.");
    dw_sheet_not_measured(sheet, "revolution.eccentricity", "record.radius was not given.");
    dw_sheet_not_measured(sheet, "noise.rumble", "the recording holds no unmodulated groove.");
    return sheet;
}

DwSheet *example_alignment_sheet(void)
{
    // Tracking error from the law of cosines: effective length, distance and offset of two arms.
    static const struct {
        const char *key, *label;
        double length, distance, offset;
    } arms[] = {{"align.found", "as it is mounted", 230, 215.5, 22.0},
                {"align.advised", "advised", 230, 211.5, 23.8},
                {"align.other", "with the wider spacing of nulls", 230, 213.0, 23.0}};
    enum { COUNT = 88 };
    DwSheet *sheet = dw_sheet_new("align", "Cartridge alignment");
    for (size_t a = 0; a < 3; a++) {
        DwCurve *curve = dw_sheet_add_curve(sheet, arms[a].key, arms[a].label, (DwAxis){"Radius", "mm"},
                                            (DwAxis){"Tracking error", "deg"}, COUNT);
        for (size_t i = 0; i < COUNT; i++) {
            double r = 60 + (double)i, l = arms[a].length, d = arms[a].distance;
            curve->x_values[i] = r;
            curve->y_values[i] = asin((r * r + l * l - d * d) / (2 * r * l)) * 180 / M_PI - arms[a].offset;
        }
    }
    DwReading *reading = dw_sheet_add_reading(sheet, "align.error", "Largest tracking error", 2.1, "deg", 2);
    dw_reading_set_limit(reading, (DwRange){NAN, 2.0}, (DwRange){NAN, NAN}, "common practice");
    dw_sheet_add_reading(sheet, "align.overhang", "Overhang", 14.5, "mm", 1);
    dw_sheet_add_reading(sheet, "align.offset", "Offset angle", 22.0, "deg", 1);
    return sheet;
}
