// SPDX-License-Identifier: MIT
// The numbers are those of tests/physics, here as a technician would ask for them.
#include "procedure/call.h"

#include <math.h>
#include <stdio.h>

#define BELT_DECK "drive.kind=belt drive.rim_diameter=160mm drive.centre_distance=130mm drive.belt_thickness=0.8mm "

static double rate_at(const DwSheet *sheet, const char *part, double rpm)
{
    const DwTable *table = dw_sheet_table(sheet, "drive.rates");
    ck_assert_str_eq(table->columns[0].key, "part");
    ck_assert_str_eq(table->columns[2].key, "rate");
    for (size_t row = 0; row < table->row_count; row++)
        if (strcmp(dw_table_cell(table, row, 0)->word, part) == 0 &&
            fabs(dw_table_cell(table, row, 1)->number - rpm) < 0.01)
            return dw_table_cell(table, row, 2)->number;
    return NAN;
}

START_TEST(speed_pulley_and_belt_of_a_belt_deck)
{
    DwSheet *sheet =
        call_well("drive", "drive.motor_kind=synchronous drive.motor_poles=24 deck.mains=50 drive.pulley_diameter=20mm "
                           "drive.rim_diameter=150mm drive.centre_distance=130 drive.belt_thickness=0.8");
    ck_assert_double_eq_tol(value(sheet, "drive.speed"), 34.483, 6e-4);
    ck_assert_double_eq_tol(value(sheet, "drive.error"), 3.448, 6e-4);
    ck_assert_double_eq_tol(value(sheet, "drive.pulley_wanted"), 19.3067, 6e-5);
    ck_assert_double_eq_tol(value(sheet, "drive.pulley_wanted_other"), 15.9556, 6e-5);
    ck_assert(is_not_measured(sheet, "drive.belt_stretch"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(belt_length_and_stretch)
{
    DwSheet *sheet = call_well("drive", BELT_DECK "drive.pulley_diameter=12mm drive.belt_length=556.86mm");
    ck_assert_double_eq_tol(value(sheet, "drive.belt_path"), 573.568, 6e-4);
    ck_assert_double_eq_tol(value(sheet, "drive.belt_stretch"), 3.0, 0.001);
    ck_assert_double_eq_tol(value(sheet, "drive.belt_shortest"), 546.25, 0.006);
    ck_assert_double_eq_tol(value(sheet, "drive.belt_wanted"), 573.568 / 1.035, 0.006);
    ck_assert_double_eq_tol(value(sheet, "drive.pulley_wrap"), 110.61, 0.006);
    ck_assert_int_eq(dw_sheet_reading(sheet, "drive.belt_stretch")->verdict, DW_VERDICT_GOOD);
    ck_assert_double_eq_tol(rate_at(sheet, "belt", 33.333), 0.4872, 6e-5);
    ck_assert_double_eq_tol(rate_at(sheet, "motor", 33.333), 6.979, 6e-4);
    ck_assert_double_eq_tol(rate_at(sheet, "platter", 33.333), 0.5556, 6e-5);
    ck_assert(is_not_measured(sheet, "drive.speed"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(steps_have_a_row_each_and_the_wrong_mains_is_named)
{
    // Pulleys for 60 Hz on 50 Hz mains.
    DwSheet *sheet = call_well(
        "drive",
        "drive.motor_kind=synchronous drive.motor_poles=24 drive.pulley_diameter=21.82 drive.pulley_diameter=15.9556 "
        "drive.rim_diameter=150 drive.belt_thickness=0.8 deck.speed=45");
    const DwTable *table = dw_sheet_table(sheet, "drive.steps");
    ck_assert_uint_eq(table->row_count, 2);
    ck_assert_double_eq_tol(dw_table_cell(table, 0, 0)->number, 33.3333, 1e-3);
    ck_assert_double_eq_tol(dw_table_cell(table, 0, 4)->number, 19.3067, 6e-5);
    ck_assert_double_eq_tol(dw_table_cell(table, 1, 4)->number, 26.3440, 6e-5);
    ck_assert_double_eq_tol(value(sheet, "drive.pulley_wanted"), 26.3440, 6e-5);
    ck_assert_double_eq_tol(value(sheet, "drive.error"), -100.0 / 6, 1e-3);
    ck_assert(says(sheet->remarks, sheet->remark_count, "fits 60 Hz, not 50 Hz"));
    ck_assert_double_eq_tol(rate_at(sheet, "motor", 45), 250.0 / 60, 1e-9);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(forces_creep_and_resonance)
{
    // Section 5 by 0.8 mm at 3 MPa is EA 12 N: 3 mN·m creep 0.33 % at a radius of 75 mm.
    DwSheet *sheet = call_well("drive", "drive.kind=belt drive.rim_diameter=149.2mm drive.pulley_diameter=19.3 "
                                        "drive.centre_distance=120 drive.belt_thickness=0.8 drive.belt_width=5mm "
                                        "drive.belt_modulus=3MPa drive.platter_torque=3mN.m drive.belt_length=500mm "
                                        "platter.inertia=0.01688kg.m2 drive.motor_speed=250rpm");
    ck_assert_double_eq_tol(value(sheet, "drive.creep"), 0.333, 6e-4);
    double plain = 250 * (19.3 + 0.8) / 150;
    ck_assert_double_eq_tol(value(sheet, "drive.speed"), plain * (1 - 0.04 / 12), 1e-6);
    double span = sqrt(120.0 * 120 - 64.95 * 64.95);
    ck_assert_double_eq_tol(value(sheet, "drive.torsion"), 1.38 * sqrt(107 / span), 0.01);
    double tension = 12 * value(sheet, "drive.belt_stretch") / 100;
    ck_assert_double_eq_tol(value(sheet, "drive.belt_tension"), tension, 1e-9);
    double grip = exp(0.5 * value(sheet, "drive.pulley_wrap") * M_PI / 180);
    ck_assert_double_eq_tol(value(sheet, "drive.belt_torque"), 75 * 2 * tension * (grip - 1) / (grip + 1), 1e-6);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(dimensions_that_contradict_each_other_are_asked_about)
{
    // Round wheels of 80 and 9 mm a belt needs π(80 + 9)/2 + 71 = 210 mm at the least.
    static const struct {
        const char *operands, *words;
    } cases[] = {
        {"drive.kind=belt drive.pulley_diameter=150 drive.rim_diameter=20", "rim_diameter exchanged?"},
        {"drive.kind=idler drive.pulley_diameter=6 drive.rim_diameter=280", NULL},
        {"drive.kind=belt drive.pulley_diameter=9 drive.idler_driven_diameter=80 drive.first_belt_length=150",
         "A belt of 150 mm is too short to go round wheels of 80 and 9 mm. Check drive.first_belt_length."},
        {"drive.kind=idler drive.pulley_diameter=9 drive.idler_driven_diameter=80 drive.belt_length=150",
         "Check drive.belt_length."},
        {"drive.kind=belt drive.pulley_diameter=9 drive.idler_driven_diameter=80 drive.first_belt_length=380", NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwSheet *sheet = call_well("drive", cases[i].operands);
        if (cases[i].words)
            ck_assert_msg(says(sheet->remarks, sheet->remark_count, cases[i].words), "%s", cases[i].operands);
        else
            ck_assert_msg(!says(sheet->remarks, sheet->remark_count, "exchanged?") &&
                              !says(sheet->remarks, sheet->remark_count, "too short"),
                          "%s", cases[i].operands);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(belts_are_judged_and_never_boiled)
{
    static const struct {
        const char *operands, *key;
        DwVerdict verdict;
    } cases[] = {
        {"drive.belt_length=572", "drive.belt_stretch", DW_VERDICT_ATTENTION},
        {"drive.belt_length=602", "drive.belt_stretch", DW_VERDICT_REPLACE}, // 5 % slack
        {"drive.belt_length=540", "drive.belt_stretch", DW_VERDICT_SERVICEABLE},
        {"drive.belt_length=510", "drive.belt_stretch", DW_VERDICT_ATTENTION},
        {"drive.belt_length=556 drive.belt_listed_length=535", "drive.belt_growth", DW_VERDICT_REPLACE},
        {"drive.belt_length=556 drive.belt_listed_length=553", "drive.belt_growth", DW_VERDICT_GOOD},
        {"drive.belt_age=6a", "drive.belt_age", DW_VERDICT_REPLACE},
        {"drive.belt_age=2a", "drive.belt_age", DW_VERDICT_GOOD},
        {"drive.belt_hours=1500h", "drive.belt_hours", DW_VERDICT_REPLACE},
        {"drive.belt_hump=0.1mm", "drive.belt_hump", DW_VERDICT_REPLACE},
        {"drive.belt_hump=0mm", "drive.belt_hump", DW_VERDICT_GOOD},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char operands[400];
        snprintf(operands, sizeof operands, BELT_DECK "drive.pulley_diameter=12 %s", cases[i].operands);
        DwSheet *sheet = call_well("drive", operands);
        const DwReading *reading = dw_sheet_reading(sheet, cases[i].key);
        ck_assert_msg(reading && reading->verdict == cases[i].verdict, "%s", cases[i].operands);
        ck_assert_uint_gt(strlen(reading->limit->source), 10);
        ck_assert(says(sheet->cautions, sheet->caution_count, "Do not boil a belt, oil it"));
        ck_assert(!says(sheet->remarks, sheet->remark_count, "oil"));
        ck_assert(!says(sheet->remarks, sheet->remark_count, "boil"));
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(idler_and_direct_drives)
{
    DwSheet *sheet =
        call_well("drive", "drive.kind=idler drive.motor_kind=synchronous drive.motor_poles=4 drive.rim_diameter=280 "
                           "drive.pulley_diameter=6.2222 drive.pulley_diameter=8.4 "
                           "drive.pulley_diameter=14.545 drive.idler_diameter=45");
    ck_assert_double_eq_tol(value(sheet, "drive.speed"), 33.333, 6e-4);
    ck_assert_double_eq_tol(rate_at(sheet, "idler", 33.333), 3.457, 6e-4);
    ck_assert_double_eq_tol(rate_at(sheet, "motor", 78), 25, 1e-9);
    ck_assert(!dw_sheet_reading(sheet, "drive.belt_wanted"));
    dw_sheet_free(sheet);
    sheet = call_well("drive", "drive.kind=direct drive.poles=12");
    ck_assert_double_eq_tol(rate_at(sheet, "pole", 33.333), 6.667, 6e-4);
    ck_assert_double_eq_tol(rate_at(sheet, "pole", 45), 9, 1e-9);
    ck_assert(is_not_measured(sheet, "drive.speed"));
    dw_sheet_free(sheet);
}
END_TEST

// A four-pole motor on 50 Hz that slips 4 % turns 1440 rpm; a 280 mm rim then needs 280 · 33⅓/1440.
#define SHADED_POLE                                                                                                    \
    "drive.kind=idler drive.motor_poles=4 deck.mains=50 drive.rim_diameter=280 drive.pulley_diameter=6.2 "

START_TEST(a_pulley_waits_for_the_kind_of_motor)
{
    static const char *const unknown[][2] = {{"", "drive.motor_kind"},
                                             {"drive.motor_kind=induction", "drive.motor_slip"},
                                             {"drive.motor_kind=dc", "drive.motor_speed"}};
    for (size_t i = 0; i < sizeof unknown / sizeof *unknown; i++) {
        char operands[300];
        snprintf(operands, sizeof operands, SHADED_POLE "%s", unknown[i][0]);
        DwSheet *sheet = call_well("drive", operands);
        ck_assert(is_not_measured(sheet, "drive.pulley_wanted"));
        ck_assert(is_not_measured(sheet, "drive.speed"));
        ck_assert(!says(sheet->remarks, sheet->remark_count, "locked to the mains"));
        dw_sheet_free(sheet);
    }
    static const char *const known[] = {"drive.motor_kind=induction drive.motor_slip=4%", "drive.motor_speed=1440rpm",
                                        "drive.motor_kind=induction drive.motor_speed=1440rpm"};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        char operands[300];
        snprintf(operands, sizeof operands, SHADED_POLE "%s", known[i]);
        DwSheet *sheet = call_well("drive", operands);
        const DwReading *reading = dw_sheet_reading(sheet, "drive.pulley_wanted");
        ck_assert(reading);
        ck_assert_double_eq_tol(reading->value, 280 * 100 / 3.0 / 1440, 1e-4);
        ck_assert_double_gt(reading->uncertainty, 0.02);
        ck_assert(!says(sheet->remarks, sheet->remark_count, "locked to the mains"));
        dw_sheet_free(sheet);
    }
}
END_TEST

static bool remarks_say(const DwSheet *sheet, const char *words)
{
    return says(sheet->remarks, sheet->remark_count, words);
}

#define SPAN_DECK "drive.kind=belt drive.pulley_diameter=17mm drive.rim_diameter=127mm drive.centre_distance=110mm "

// By hand: span √(110² − 55²) = 95.26 mm, way round 474.3 mm. T = µ (2 L f)² with µ = 3 g/474.3 mm; T = P L/(4 d).
START_TEST(what_contradicts_itself_is_said)
{
    static const struct {
        const char *operands, *says;
        bool is_said;
    } rows[] = {
        {SPAN_DECK "drive.belt_mass=3g drive.belt_pluck=100Hz drive.belt_push=20g drive.belt_give=4mm",
         "contradict each other", true}, // 2.30 and 1.17 N
        {SPAN_DECK "drive.belt_mass=3g drive.belt_pluck=71.5Hz drive.belt_push=20g drive.belt_give=4mm",
         "contradict each other", false}, // 1.17 and 1.17 N
        {SPAN_DECK "drive.thread_radius=60mm drive.stall_pull=50g drive.drag_pull=80g", "swapped", true},
        {SPAN_DECK "drive.thread_radius=60mm drive.stall_pull=50g drive.drag_pull=30g", "little in hand", true},
        {SPAN_DECK "drive.thread_radius=60mm drive.stall_pull=50g drive.drag_pull=5g", "little in hand", false},
        {SPAN_DECK "drive.thread_radius=60mm drive.stall_pull=50g drive.drag_pull=5g", "swapped", false},
        {SPAN_DECK "drive.thread_radius=60mm drive.drag_pull=5g drive.platter_torque=30mN.m", "contradict", true},
        {SPAN_DECK "drive.thread_radius=60mm drive.drag_pull=5g drive.platter_torque=0.5mN.m", "contradict", true},
        {SPAN_DECK "drive.thread_radius=60mm drive.drag_pull=5g drive.platter_torque=5mN.m", "contradict", false},
        {"drive.thread_radius=150mm drive.drag_pull=3g drive.brake_pull=1g", "The brake rubs with 2.94 mN·m, 67 %",
         true},
        {"drive.thread_radius=150mm drive.drag_pull=1.02g drive.brake_pull=1g", "The brake stands clear", true},
        {"drive.kind=idler drive.idler_hardness=10", "too soft", true},
        {"drive.kind=idler drive.idler_hardness=80", "gone hard", true},
        {"drive.kind=idler drive.idler_hardness=50", "rubber", false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        DwSheet *sheet = call_well("drive", rows[i].operands);
        ck_assert_msg(remarks_say(sheet, rows[i].says) == rows[i].is_said, "%s: %s", rows[i].operands, rows[i].says);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(a_brake_never_drives_the_platter)
{
    DwSheet *sheet = call_well("drive", "drive.thread_radius=150mm drive.drag_pull=1g drive.brake_pull=3g");
    ck_assert_ptr_null(dw_sheet_reading(sheet, "drive.brake_drag"));
    ck_assert(is_not_measured(sheet, "drive.brake_drag"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_worn_parts_number_asks_for_no_more_than_it_needs)
{
    // 300 mN on a radius of 145 mm are 43.5 mN·m, whatever drives the platter (by hand).
    DwSheet *sheet = call_well("drive", "drive.stall_pull=300mN drive.thread_radius=145mm");
    ck_assert_double_eq_tol(dw_sheet_reading(sheet, "drive.stall_torque")->value, 43.5, 1e-9);
    ck_assert_ptr_null(dw_sheet_reading(sheet, "drive.speed"));
    dw_sheet_free(sheet);
    sheet = call_well("drive", "drive.stall_pull=300mN drive.drag_pull=50mN drive.thread_radius=145mm");
    ck_assert_double_eq_tol(dw_sheet_reading(sheet, "drive.torque_reserve")->value, 6, 1e-9);
    dw_sheet_free(sheet);
    sheet = call_well("drive", "drive.thread_radius=150mm drive.brake_pull=30mN"); // with nothing to take it from
    ck_assert(is_not_measured(sheet, "drive.brake_drag"));
    dw_sheet_free(sheet);
    sheet = call_well("drive", "drive.idler_hardness=48"); // only an idler has that
    ck_assert_double_eq(dw_sheet_reading(sheet, "drive.idler_hardness")->value, 48);
    dw_sheet_free(sheet);
}
END_TEST

// What another kind of drive uses is named, and nothing else is said of it.
START_TEST(what_is_not_used_is_not_judged_either)
{
    static const struct {
        const char *operands, *key, *reading;
    } rows[] = {
        {"drive.kind=direct drive.belt_pluck=30Hz", "drive.belt_pluck", "drive.pluck_tension"},
        {"drive.kind=idler drive.belt_pluck=30Hz drive.belt_mass=3g", "drive.belt_pluck", "drive.pluck_tension"},
        {"drive.kind=direct drive.belt_push=20g drive.belt_give=4mm", "drive.belt_push", "drive.push_tension"},
        {"drive.kind=direct drive.belt_give=4mm", "drive.belt_give", "drive.push_tension"},
        {"drive.kind=direct drive.idler_hardness=80", "drive.idler_hardness", "drive.idler_hardness"},
        {"drive.kind=belt drive.idler_hardness=80", "drive.idler_hardness", "drive.idler_hardness"},
        {"drive.kind=direct drive.belt_age=9", "drive.belt_age", "drive.belt_age"},
        {"drive.kind=idler drive.belt_hump=1mm", "drive.belt_hump", "drive.belt_hump"},
        {"drive.kind=idler drive.belt_length=500mm drive.belt_listed_length=480mm", "drive.belt_listed_length",
         "drive.belt_growth"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        DwSheet *sheet = call_well("drive", rows[i].operands);
        ck_assert_msg(remarks_say(sheet, "Not used") && remarks_say(sheet, rows[i].key), "%s", rows[i].operands);
        ck_assert_msg(!dw_sheet_reading(sheet, rows[i].reading) && !is_not_measured(sheet, rows[i].reading), "%s",
                      rows[i].operands);
        dw_sheet_free(sheet);
    }
    DwMessage message = {""};
    ck_assert_ptr_null(call_files("drive", (const char *const[]){"pluck.wav"}, 1, "drive.kind=direct", &message));
    ck_assert_msg(strstr(message.text, "this drive has none"), "%s", message.text);
}
END_TEST

START_TEST(a_number_without_a_unit_has_no_gap_behind_it)
{
    DwMessage message = {""};
    DwSheet *sheet = call_well("drive", "drive.kind=idler drive.idler_hardness=62");
    ck_assert(remarks_say(sheet, "its limit of 60: its"));
    dw_sheet_free(sheet);
    sheet = call_well("drive", "drive.kind=idler drive.idler_hardness=10");
    ck_assert(remarks_say(sheet, "= 10 is unusual (25 to 80 is common)"));
    dw_sheet_free(sheet);
    DwInputs *inputs = dw_inputs_new();
    ck_assert(dw_inputs_set_operand(inputs, "drive.idler_hardness=600", &message) != DW_OK);
    ck_assert_msg(strstr(message.text, "from 0 to 100."), "%s", message.text);
    dw_inputs_free(inputs);
}
END_TEST

START_TEST(what_cannot_be_is_refused_in_a_line)
{
    static const char *const bad[][2] = {
        {"deck.speed=45", "drive.kind"},
        {"drive.stall_pull=300mN drive.rim_diameter=160mm", "The kind of drive is not known"},
        {"drive.kind=belt drive.rim_diameter=300 drive.pulley_diameter=12 drive.centre_distance=140",
         "No belt can run"},
        {"drive.kind=belt drive.rim_diameter=160 drive.pulley_diameter=12 drive.centre_distance=200 drive.motors=3",
         "does not touch the rim of 160 mm between them"}, // 3 · (180° − 2 · 21.7°) is more than a turn
        {"drive.kind=belt drive.pulley_diameter=12 drive.pulley_diameter=13 drive.pulley_diameter=14 "
         "drive.pulley_diameter=15 drive.pulley_diameter=16",
         "at most 4"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        DwMessage message = {""};
        ck_assert_ptr_null(call("drive", bad[i][0], &message));
        ck_assert_msg(strstr(message.text, bad[i][1]), "%s", message.text);
    }
}
END_TEST

DW_SUITE("drive", a_brake_never_drives_the_platter, a_worn_parts_number_asks_for_no_more_than_it_needs,
         what_contradicts_itself_is_said, what_is_not_used_is_not_judged_either,
         a_number_without_a_unit_has_no_gap_behind_it, speed_pulley_and_belt_of_a_belt_deck, belt_length_and_stretch,
         steps_have_a_row_each_and_the_wrong_mains_is_named, forces_creep_and_resonance,
         dimensions_that_contradict_each_other_are_asked_about, belts_are_judged_and_never_boiled,
         idler_and_direct_drives, a_pulley_waits_for_the_kind_of_motor, what_cannot_be_is_refused_in_a_line)
