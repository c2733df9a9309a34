// SPDX-License-Identifier: MIT
#include "base/heard_speed.h"
#include "base/inputs.h"
#include "base/sheet.h"
#include "base/text.h"
#include "base/usual_speed.h"
#include "support/suite.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

START_TEST(values_are_held_in_the_catalogue_unit)
{
    DwInputs *inputs = dw_inputs_new();
    ck_assert_int_eq(dw_inputs_set_operand(inputs, "arm.pivot_to_spindle=22.2cm", NULL), DW_OK);
    ck_assert_int_eq(dw_inputs_set_operand(inputs, "arm.effective_length=9.42in", NULL), DW_OK);
    ck_assert_double_eq_tol(dw_inputs_in(inputs, "arm.pivot_to_spindle", "mm"), 222, 1e-9);
    ck_assert_double_eq_tol(dw_inputs_in(inputs, "arm.effective_length", "mm"), 239.268, 1e-9);
    ck_assert(isnan(dw_inputs_in(inputs, "arm.offset", "deg")));
    ck_assert_double_eq_tol(dw_inputs_in(inputs, "deck.speed", "rpm"), 100.0 / 3, 1e-9);
    ck_assert(!dw_inputs_given(inputs, "deck.speed"));
    dw_inputs_free(inputs);
}
END_TEST

// The factors are the units' definitions: 1 in is 25.4 mm, 1 gf 9.80665 mN, 0 degC 273.15 K, a turn 2 pi rad.
START_TEST(a_number_is_read_in_the_unit_that_is_named)
{
    static const struct {
        const char *operand, *unit;
        double value;
    } rows[] = {
        {"chain.clock_error=300ppm", "ppm", 300},
        {"chain.clock_error=300ppm", "%", 0.03},
        {"chain.clock_error=0.03%", "ppm", 300},
        {"chain.clock_error=-12ppm", "fraction", -12e-6},
        {"deck.speed=45", "Hz", 0.75},
        {"deck.speed=45", "rad/s", 4.712388980384690},
        {"arm.effective_length=10in", "mm", 254},
        {"arm.offset=18deg", "rad", 0.3141592653589793},
        {"arm.offset=22°59'", "deg", 22 + 59 / 60.0},
        {"arm.offset=22° 59′ 30″", "deg", 22 + 59 / 60.0 + 30 / 3600.0},
        {"found.twist=-1°30'", "deg", -1.5},
        {"force.target=2g", "mN", 19.6133},
        {"load.temperature=20degC", "K", 293.15},
        {"load.temperature=300K", "degC", 26.85},
        {"preamp.resistance=47kohm", "ohm", 47000},
        {"cartridge.inductance=500mH", "H", 0.5},
        {"preamp.noise_voltage=2nV/rtHz", "V/rtHz", 2e-9},
        {"preamp.noise_current=300fA/rtHz", "A/rtHz", 300e-15},
        {"platter.mass=1500g", "kg", 1.5},
        {"fault.drift=3%/min", "fraction/s", 0.0005},
        {"fault.ticks=30", "/s", 0.5},
        {"load.top=20k", "Hz", 20000},
        {"cartridge.compliance=15e-6 cm/dyn", "um/mN", 15}, // 1 dyn is 10 uN, 1 cm 10000 um
        {"cartridge.compliance=15 × 10⁻⁶ cm/dyn", "um/mN", 15},
        {"cartridge.compliance=15x10^-6cm/dyn", "um/mN", 15},
        {"preamp.resistance=47 000 ohm", "kohm", 47},
        {"preamp.resistance=1.047.000ohm", "kohm", 1047},
        {"preamp.resistance=47.0kohm", "ohm", 47000},
        {"record.tone=3.150,5Hz", "Hz", 3150.5},
        {"deck.speed=33.333rpm", "rpm", 33.333}, // 33333 rpm cannot be
        {"record.start=12.500s", "s", 12.5},     // as an editor of recordings writes it
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        DwInputs *inputs = dw_inputs_new();
        char key[80] = "";
        strncat(key, rows[i].operand, strcspn(rows[i].operand, "="));
        DwMessage message = {""};
        ck_assert_msg(dw_inputs_set_operand(inputs, rows[i].operand, &message) == DW_OK, "%s", message.text);
        double value = dw_inputs_in(inputs, key, rows[i].unit);
        ck_assert_msg(fabs(value - rows[i].value) <= 1e-12 * fabs(rows[i].value), "%s is %.15g %s, not %.15g",
                      rows[i].operand, value, rows[i].unit, rows[i].value);
        dw_inputs_free(inputs);
    }
}
END_TEST

START_TEST(pairs_repeats_and_presets_are_read_in_the_units_named)
{
    DwInputs *inputs = dw_inputs_new();
    double first = 0, second = 0;
    dw_inputs_set(inputs, "found.error_at", "5in:-2deg", NULL);
    ck_assert(dw_inputs_pair_in(inputs, "found.error_at", 0, "cm", "deg", &first, &second));
    ck_assert_double_eq_tol(first, 12.7, 1e-12);
    ck_assert_double_eq_tol(second, -2, 1e-12);
    ck_assert(!dw_inputs_pair_in(inputs, "found.error_at", 1, "cm", "deg", &first, &second));
    dw_inputs_set(inputs, "drive.pulley_diameter", "10mm", NULL);
    dw_inputs_set(inputs, "drive.pulley_diameter", "0.5in", NULL);
    ck_assert_double_eq_tol(dw_inputs_in_at(inputs, "drive.pulley_diameter", 1, "cm"), 1.27, 1e-12);
    ck_assert(isnan(dw_inputs_in_at(inputs, "drive.pulley_diameter", 2, "cm")));
    ck_assert_double_eq_tol(dw_inputs_in(inputs, "cartridge.hardware_mass", "mg"), 1000, 1e-9); // preset 1 g
    dw_inputs_free(inputs);
}
END_TEST

START_TEST(a_later_source_replaces_an_earlier_one)
{
    DwInputs *inputs = dw_inputs_new();
    dw_inputs_set(inputs, "deck.speed", "45", NULL);
    dw_inputs_begin_source(inputs);
    dw_inputs_set(inputs, "deck.speed", "78.26", NULL);
    ck_assert_double_eq_tol(dw_inputs_in(inputs, "deck.speed", "rpm"), 78.26, 1e-9);
    ck_assert_uint_eq(dw_inputs_count(inputs, "deck.speed"), 1);
    dw_inputs_free(inputs);
}
END_TEST

START_TEST(bad_input_is_one_line_and_changes_nothing)
{
    static const char *const bad[][2] = {
        {"deck.sped=45", "Did you mean deck.speed?"},
        {"speed=45", "Did you mean deck.speed?"},
        {"arm.offset=twenty", "is not a number"},
        {"arm.offset=20mm", "is not a unit"},
        {"deck.speed=9999", "out of range"},
        {"deck.class=nonsense", "not one of its choices"},
        {"found.error_at=66mm:50deg", "from -45 to 45 deg"},
        {"found.error_at=66mm", "two values with a colon"},
        {"deck.class=", "no value given"},
        {"preamp.resistance=47,000ohm", "47,000 may be 47 or 47 000: write 47000 or 47.0"},
        {"preamp.resistance=47.000ohm", "47.000 may be 47 or 47 000: write 47000 or 47.0"},
        {"deck.speed=33,333", "33,333 may be 33.333 or 33 333: write 33333 or 33.3330"},
        {"found.error_at=60,325mm:1deg", "60,325 may be 60.325 or 60 325"},
        {"found.error_at=66mm:1,125deg", "1,125 may be 1.125 or 1 125"},
        {"deck.speed", "key=value"},
    };
    DwInputs *inputs = dw_inputs_new();
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        DwMessage message = {""};
        ck_assert_int_eq(dw_inputs_set_operand(inputs, bad[i][0], &message), DW_BAD_INPUT);
        ck_assert_msg(strstr(message.text, bad[i][1]), "%s: %s", bad[i][0], message.text);
        ck_assert_msg(!strchr(message.text, '\n'), "%s", message.text);
    }
    ck_assert(!dw_inputs_given(inputs, "deck.speed"));
    dw_inputs_free(inputs);
}
END_TEST

// The linker sends every search for a key here (tests/base/meson.build).
extern const DwQuantity *__real_dw_quantity_find(const char *key);
extern const DwQuantity *__wrap_dw_quantity_find(const char *key);
static size_t searches;

const DwQuantity *__wrap_dw_quantity_find(const char *key)
{
    searches++;
    return __real_dw_quantity_find(key);
}

START_TEST(a_key_is_looked_for_once)
{
    DwInputs *inputs = dw_inputs_new();
    DwSheet *sheet = dw_sheet_new("drive", "Drive");
    searches = 0;
    ck_assert_int_eq(dw_inputs_set_operand(inputs, "deck.speed=45rpm", NULL), DW_OK);
    ck_assert_uint_eq(searches, 1);
    const DwQuantity *row = dw_quantity_find("deck.mains");
    searches = 0; // from here on the row is handed on
    ck_assert_int_eq(dw_inputs_set_row(inputs, row, "60Hz", NULL), DW_OK);
    ck_assert_double_eq(dw_quantity_preset(row, NULL), 50);
    dw_sheet_add_input(sheet, inputs, row);
    ck_assert_uint_eq(searches, 0);
    ck_assert_str_eq(dw_inputs_own_typed(inputs, row, 0), "60Hz");
    ck_assert_double_eq(sheet->inputs[0].value, 60);
    dw_sheet_free(sheet);
    dw_inputs_free(inputs);
}
END_TEST

// 100 cents are the semitone of equal temperament, 2^(1/12), by definition; a side of 1200 s that
// runs 1 % fast is over after 1200/1.01 s.
START_TEST(a_speed_that_is_off_is_heard)
{
    ck_assert_double_eq_tol(dw_heard_speed(5.946309435929526).cents, 100, 1e-9);
    ck_assert_double_eq_tol(dw_heard_speed(-50).cents, -1200, 1e-9);
    ck_assert_double_eq_tol(dw_heard_speed(1).early_s, 1200 - 1200 / 1.01, 1e-9);
    ck_assert_double_eq_tol(dw_heard_speed(-1).early_s, 1200 - 1200 / 0.99, 1e-9);
    ck_assert_double_eq(dw_usual_speed_other(0.757, 100.0 / 3), 45);
    ck_assert_double_eq(dw_usual_speed_other(0.556, 78.26), 100.0 / 3);
    ck_assert(isnan(dw_usual_speed_other(0.757, 45)));
    ck_assert(isnan(dw_usual_speed_other(0.65, 100.0 / 3)));
    // Source (published): by 78 also go 7200/92 and 6000/77 (IEC 60098), and nothing beyond; 16 2/3 is no deck's.
    ck_assert_str_eq(dw_usual_speed_near(7200.0 / 92, 1e-4)->words, "78");
    ck_assert_str_eq(dw_usual_speed_near(6000.0 / 77, 1e-4)->words, "78");
    ck_assert_ptr_null(dw_usual_speed_near(78.4, 1e-4));
    ck_assert_str_eq(dw_usual_speed_near(33.3, 0.01)->words, "33⅓");
    ck_assert_ptr_null(dw_usual_speed_near(50.0 / 3, 0.01));
}
END_TEST

// What repeats may be a list; a comma parts it only where it cannot be a decimal mark. A bad part takes none.
START_TEST(what_repeats_may_be_a_list)
{
    static const struct {
        const char *operand;
        size_t count;
        double second;
    } lists[] = {
        {"force.reading=1.54,1.51,1.50", 3, 1.51},
        {"force.reading=1.54; 1.51g;14.8mN", 3, 1.51},
        {"force.reading=1,54, 1,51", 2, 1.51},
        {"force.reading=1,54;1,51;", 2, 1.51},
        {"force.reading=1,54", 1, NAN},
        {"found.error_at=65:1.2;90:-0.5", 2, NAN},
    };
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++) {
        DwInputs *inputs = dw_inputs_new();
        const char *key = strstr(lists[i].operand, "reading") ? "force.reading" : "found.error_at";
        ck_assert_int_eq(dw_inputs_set_operand(inputs, lists[i].operand, &(DwMessage){""}), DW_OK);
        ck_assert_uint_eq(dw_inputs_count(inputs, key), lists[i].count);
        if (isfinite(lists[i].second))
            ck_assert_double_eq_tol(dw_inputs_in_at(inputs, key, 1, "g"), lists[i].second, 1e-12);
        dw_inputs_free(inputs);
    }
    static const char *const bad[] = {"force.reading=1.54;;1.5", "force.reading=1.54,x.2", "force.reading=1.5;-3",
                                      "force.target=1.5;1.6", "force.reading=;"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        DwInputs *inputs = dw_inputs_new();
        ck_assert_int_eq(dw_inputs_set_operand(inputs, bad[i], &(DwMessage){""}), DW_BAD_INPUT);
        ck_assert_uint_eq(dw_inputs_count(inputs, "force.reading"), 0);
        dw_inputs_free(inputs);
    }
}
END_TEST

// A comma that cannot be a decimal mark parts a list: behind a unit, before a sign, the only one between two colons.
START_TEST(a_comma_that_is_no_decimal_mark_parts_a_list)
{
    static const struct {
        const char *operand;
        size_t count;
        double second, second_of_pair, last; // NAN: of no pair
    } lists[] = {
        {"load.lead=100pF,200pF,50pF", 3, 200, NAN, 50},
        {"load.lead=100,5pF,200,5pF", 2, 200.5, NAN, 200.5},
        {"found.overhang=-0,5,-1,5", 2, -1.5, NAN, -1.5},
        {"found.overhang=17mm,17,5mm", 2, 17.5, NAN, 17.5},
        {"found.error_at=66:1,120:-1", 2, 120, -1, 120},
        {"found.error_at=66:-1,5, 120:1,5", 2, 120, 1.5, 120},
        {"found.error_at=66:1,5;120,5:-1,5", 2, 120.5, -1.5, 120.5},
        {"found.error_at=66mm:1deg,120mm:-1,5deg", 2, 120, -1.5, 120},
        {"found.arc_at=60:-0.5,100:0,140:0.5", 3, 100, 0, 140},
        {"rake.point=400:300,404:80,1100:300", 3, 404, 80, 1100},
        {"found.error_at=66,5:1,5", 1, NAN, NAN, 66.5},
    };
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++) {
        DwInputs *inputs = dw_inputs_new();
        char *key = dw_text_format("%.*s", (int)strcspn(lists[i].operand, "="), lists[i].operand);
        ck_assert_msg(dw_inputs_set_operand(inputs, lists[i].operand, &(DwMessage){""}) == DW_OK, "%s",
                      lists[i].operand);
        ck_assert_uint_eq(dw_inputs_count(inputs, key), lists[i].count);
        const DwQuantity *row = dw_quantity_find(key);
        double first, second;
        if (dw_inputs_own(inputs, row, 1, &first, &second)) {
            ck_assert_double_eq_tol(first, lists[i].second, 1e-12);
            if (isfinite(lists[i].second_of_pair))
                ck_assert_double_eq_tol(second, lists[i].second_of_pair, 1e-12);
        }
        ck_assert(dw_inputs_own(inputs, row, lists[i].count - 1, &first, &second));
        ck_assert_double_eq_tol(first, lists[i].last, 1e-12);
        dw_inputs_free(inputs);
        free(key);
    }
    // Which comma parts these is not to be told: none is taken.
    static const char *const open[] = {"found.error_at=66:1,2,120:-1", "load.lead=100,200,50"};
    for (size_t i = 0; i < sizeof open / sizeof *open; i++) {
        DwInputs *inputs = dw_inputs_new();
        ck_assert_int_eq(dw_inputs_set_operand(inputs, open[i], &(DwMessage){""}), DW_BAD_INPUT);
        dw_inputs_free(inputs);
    }
}
END_TEST

START_TEST(every_row_of_the_catalogue_is_sound)
{
    const DwQuantity *row;
    for (size_t i = 0; (row = dw_quantity_at(i)); i++) {
        ck_assert_msg(strchr(row->key, '.'), "%s", row->key);
        ck_assert_ptr_eq(dw_quantity_find(row->key), row); // no key twice
        ck_assert_msg(row->label && *row->label, "%s has no label", row->key);
        ck_assert_msg(row->help && *row->help, "%s has no help", row->key);
        if (row->kind == DW_QUANTITY_NUMBER || row->kind == DW_QUANTITY_PAIR)
            ck_assert_msg(row->unit && dw_unit_find(row->dimension, row->unit), "%s: unit", row->key);
        if (row->kind == DW_QUANTITY_PAIR)
            ck_assert_msg(row->second_unit && dw_unit_find(row->second_dimension, row->second_unit), "%s", row->key);
        if (row->kind == DW_QUANTITY_CHOICE)
            ck_assert_msg(row->choices && (!row->preset || dw_quantity_has_choice(row, row->preset)), "%s", row->key);
        if (row->kind == DW_QUANTITY_NUMBER && row->preset)
            ck_assert_int_eq(dw_quantity_read(row, row->preset, &(double){0}, NULL, NULL), DW_OK);
        if (dw_range_is_set(row->plausible) && dw_range_is_set(row->possible))
            ck_assert_msg(row->plausible.low >= row->possible.low && row->plausible.high <= row->possible.high, "%s",
                          row->key);
    }
}
END_TEST

DW_SUITE("inputs", values_are_held_in_the_catalogue_unit, a_number_is_read_in_the_unit_that_is_named,
         pairs_repeats_and_presets_are_read_in_the_units_named, a_later_source_replaces_an_earlier_one,
         bad_input_is_one_line_and_changes_nothing, a_key_is_looked_for_once, a_speed_that_is_off_is_heard,
         what_repeats_may_be_a_list, a_comma_that_is_no_decimal_mark_parts_a_list, every_row_of_the_catalogue_is_sound)
