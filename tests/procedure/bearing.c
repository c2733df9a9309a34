// SPDX-License-Identifier: MIT
// Run-downs are synthetic, by the closed form, from J 0.0225 kg·m² (2 kg, 300 mm).
#include "play_file.h"

#include <math.h>

static const double inertia = 0.0225;

// Appends eight points of a run-down with drags B (N·m·s) and T (N·m) to OPERANDS.
static void add_run(char *operands, const char *key, double b, double t)
{
    double k = b / inertia, c = t / inertia, start = 100.0 / 3;
    for (int i = 0; i < 8; i++) {
        double seconds = 15 * i, decay = exp(-k * seconds);
        double rpm = start * decay - c / k * (1 - decay) * 60 / (2 * M_PI);
        sprintf(operands + strlen(operands), " %s=%g:%.6f", key, seconds, rpm);
    }
}

START_TEST(drags_are_found_and_compared)
{
    char operands[2000] = "platter.mass=2kg platter.diameter=300mm bearing.air=no";
    add_run(operands, "bearing.at", 1.22e-4, 2e-4);
    add_run(operands, "bearing.before", 2.44e-4, 2e-4);
    DwSheet *sheet = call_well("bearing", operands);
    ck_assert_double_eq_tol(value(sheet, "bearing.viscous"), 0.122, 1e-5);
    ck_assert_double_eq_tol(value(sheet, "bearing.coulomb"), 0.2, 1e-5);
    // 0.426 mN·m of it viscous; stops in 210.4 s; halving ratio 0.717. Source (recomputed): the closed form.
    ck_assert_double_eq_tol(value(sheet, "bearing.torque"), 0.626, 6e-4);
    ck_assert_double_eq_tol(value(sheet, "bearing.stop_time"), 210.4, 0.06);
    ck_assert_double_eq_tol(value(sheet, "bearing.half_ratio"), 0.717, 6e-4);
    ck_assert_double_eq_tol(value(sheet, "bearing.before_viscous"), 0.244, 1e-5);
    ck_assert(says(sheet->remarks, sheet->remark_count, "Viscous drag went down by 50 %"));
    ck_assert_ptr_nonnull(dw_sheet_curve(sheet, "bearing.run_down"));
    ck_assert(says(sheet->cautions, sheet->caution_count, "Do not over-fill"));
    ck_assert(says(sheet->cautions, sheet->caution_count, "Never oil a belt, pulley, rim or idler tread, nor a trip"));
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(the_airs_drag_is_not_the_oils)
{
    // A light bearing, 3e-5 N·m·s and 1e-4 N·m, under a disc of 300 mm in air: Cochran's moment of a free disc,
    // 0.616 π ρ R⁴ √(ν ω³) over both faces, here 1.2 times as much, integrated in steps of 10 ms (Euler).
    const double b = 3e-5, t = 1e-4, moment = 1.2 * 0.616 * M_PI * 1.20 * pow(0.15, 4) * sqrt(15.1e-6);
    char operands[2000] = "platter.mass=2kg platter.diameter=300mm", words[2000];
    double speed = 100.0 / 3 * 2 * M_PI / 60;
    for (int step = 0; step <= 30000; step++) {
        if (step % 2500 == 0)
            sprintf(operands + strlen(operands), " bearing.at=%g:%.6f", step / 100.0, speed * 60 / (2 * M_PI));
        speed -= 0.01 * (b * speed + t + moment * pow(speed, 1.5)) / inertia;
    }
    DwSheet *sheet = call_well("bearing", operands);
    double off = value(sheet, "bearing.viscous") - 1000 * b;
    ck_assert_double_lt(fabs(off), dw_sheet_reading(sheet, "bearing.viscous")->uncertainty);
    ck_assert_double_lt(fabs(off), 0.15 * 1000 * b);
    ck_assert_double_lt(dw_sheet_reading(sheet, "bearing.viscous")->uncertainty, 0.4 * 1000 * b);
    dw_sheet_free(sheet);
    sprintf(words, "%s bearing.air=no", operands); // counted with the oil it is far too much
    sheet = call_well("bearing", words);
    ck_assert_double_gt(value(sheet, "bearing.viscous"), 1.3 * 1000 * b);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(films_and_sinking_have_their_doubt)
{
    // By hand: the clearance of 10 µm known to 2, the grade to 10 %, 2 °C some 9 % of VG32 at 20 °C: √(20² + 10² + 9²)
    // = 24 % of the film's drag. Sinking: ⅓ of √(10² + 9² + 2² + 7.1²) = 5.1 % of the clearance.
    DwSheet *sheet = call_well("bearing", "oil.grade=vg32 bearing.spindle_diameter=10mm bearing.sleeve_length=60mm "
                                          "bearing.clearance=10um platter.mass=2kg bearing.sink_time=4000s "
                                          "bearing.sink_from=50mm bearing.sink_to=60mm");
    const DwReading *film = dw_sheet_reading(sheet, "bearing.film_torque");
    ck_assert_double_eq_tol(film->uncertainty / film->value, 0.24, 0.02);
    const DwReading *sunk = dw_sheet_reading(sheet, "bearing.sink_clearance");
    ck_assert_double_eq_tol(sunk->uncertainty / sunk->value, 0.051, 0.006);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(without_inertia_only_times_are_given)
{
    char operands[1000] = "";
    add_run(operands, "bearing.at", 1.22e-4, 2e-4);
    DwSheet *sheet = call_well("bearing", operands);
    ck_assert_ptr_null(dw_sheet_reading(sheet, "bearing.viscous"));
    ck_assert(is_not_measured(sheet, "bearing.viscous"));
    ck_assert_double_eq_tol(value(sheet, "bearing.stop_time"), 210.4, 0.06);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(oils_films_and_sinking)
{
    // Source (recomputed): VG32 at 20 °C has 86.3 mm²/s by ASTM D341, and 867.2 kg/m³.
    DwSheet *sheet = call_well("bearing", "oil.grade=vg32 bearing.spindle_diameter=10mm bearing.sleeve_length=60mm "
                                          "bearing.clearance=10um platter.mass=2kg bearing.sink_time=4000s "
                                          "bearing.sink_from=50mm bearing.sink_to=60mm");
    double viscosity = value(sheet, "oil.viscosity");
    ck_assert_double_eq_tol(viscosity, 86.3 * 0.8672, 0.06);
    // Petroff and the sinking time of the worked checks at 65 mPa·s, in proportion.
    ck_assert_double_eq_tol(value(sheet, "bearing.film_torque"), 1.0692 * viscosity / 65, 2e-4);
    double expected = 4293.27 * viscosity / 65 * 19.62 / (2 * 9.80665);
    ck_assert_double_eq_tol(value(sheet, "bearing.sink_expected"), expected, 0.1);
    ck_assert_double_eq_tol(value(sheet, "bearing.sink_clearance"), 10 * cbrt(expected / 4000), 1e-4);
    const DwTable *oils = dw_sheet_table(sheet, "oil.grades");
    ck_assert_uint_ge(oils->row_count, 11);
    ck_assert_double_eq_tol(dw_table_cell(oils, 2, 5)->number, 86.3, 0.06);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(a_clearance_that_sinking_contradicts_is_said)
{
    // VG32 at 20 °C: 10 µm sink from 50 to 60 mm in some 4940 s (above), 12 µm in 4940/1.728 = 2860 s; leaning 2.5
    // times faster.
    static const struct {
        int seconds;
        bool said;
    } cases[] = {{4940, false}, {1980, false}, {60, true}, {40000, true}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char operands[400];
        snprintf(operands, sizeof operands,
                 "oil.grade=vg32 bearing.spindle_diameter=10mm bearing.sleeve_length=60mm bearing.clearance=10um "
                 "platter.mass=2kg bearing.sink_time=%ds bearing.sink_from=50mm bearing.sink_to=60mm",
                 cases[i].seconds);
        DwSheet *sheet = call_well("bearing", operands);
        ck_assert_int_eq(says(sheet->remarks, sheet->remark_count, "where bearing.clearance says 10 um"),
                         cases[i].said);
        dw_sheet_free(sheet);
    }
}
END_TEST

START_TEST(bad_calls_are_refused_in_a_line)
{
    static const char *const bad[][2] = {
        {"bearing.at=0:33 bearing.at=10:30", "at least three"},
        {"bearing.at=0:33 bearing.at=10:34 bearing.at=20:35", "does not slow down"},
        {"bearing.at=0:33.3 bearing.at=20:28 bearing.at=40:30 bearing.at=60:18.5", "rises from 28.00 to 30.00 rpm"},
        {"bearing.before=0:33 bearing.before=10:30 bearing.before=20:27", "bearing.at"},
        {"oil.grade=olive", "data/oils.ini"},
        {"oil.viscosity_40=32", "both temperatures"},
        {"oil.viscosity_40=5 oil.viscosity_100=32", "thinner when warm"},
        {"bearing.sink_from=60 bearing.sink_to=50", "must be more"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        DwMessage message = {""};
        ck_assert_ptr_null(call("bearing", bad[i][0], &message));
        ck_assert_msg(strstr(message.text, bad[i][1]), "%s: %s", bad[i][0], message.text);
    }
}
END_TEST

START_TEST(a_recorded_run_down_gives_the_drags)
{
    // The tone of a platter that turns for 4 s and then runs down to standstill.
    enum { RATE = 11025 };
    const double b = 6e-4, t = 9e-4, k = b / inertia, c = t / inertia, start = 100.0 / 3 * 2 * M_PI / 60;
    size_t count = 66 * RATE;
    float *samples = calloc(count, sizeof *samples);
    double turns = 0;
    for (size_t n = 0; n < count; n++) {
        double since = fmax(0, ((double)n + 0.5) / RATE - 4), decay = exp(-k * since);
        double share = fmax(0, start * decay - c / k * (1 - decay)) / start;
        samples[n] = (float)(0.2 * share * sin(2 * M_PI * turns));
        turns += 3150 * share / RATE;
    }
    char *path = play_name("run-down");
    play_write(path, RATE, samples, count);
    free(samples);
    DwMessage message = {""};
    const char *const paths[] = {path};
    DwSheet *sheet =
        call_files("bearing", paths, 1, "platter.inertia=0.0225kg.m2 record.tone=3150 bearing.air=no", &message);
    ck_assert_msg(sheet, "%s", message.text);
    ck_assert_double_eq_tol(value(sheet, "bearing.viscous"), 1000 * b, 0.02 * 1000 * b);
    ck_assert_double_eq_tol(value(sheet, "bearing.coulomb"), 1000 * t, 0.02 * 1000 * t);
    ck_assert(says(sheet->remarks, sheet->remark_count, "needs the stylus in the groove"));
    dw_sheet_free(sheet);
    ck_assert_ptr_null(call_files("bearing", paths, 1, "bearing.at=0:33", &message));
    ck_assert_ptr_nonnull(strstr(message.text, "not both"));
    unlink(path);
    free(path);
}
END_TEST

START_TEST(an_oil_is_named_by_both_standards)
{
    // Source (published): ISO 3448 and SAE J306 (February 2019): the gear oil of 404 and 28 mm²/s is a 140.
    DwSheet *sheet = call_well("bearing", "oil.viscosity_40=404 oil.viscosity_100=28");
    ck_assert(says(sheet->remarks, sheet->remark_count, "between the grades of ISO 3448 (404.0"));
    ck_assert(says(sheet->remarks, sheet->remark_count, "grade 140 of SAE J306 (24.0 .. 32.5"));
    dw_sheet_free(sheet);
    sheet = call_well("bearing", "oil.viscosity_40=66 oil.viscosity_100=8.5");
    ck_assert(says(sheet->remarks, sheet->remark_count, "grade VG68 of ISO 3448"));
    ck_assert(says(sheet->remarks, sheet->remark_count, "grade 80 of SAE J306"));
    dw_sheet_free(sheet);
}
END_TEST

// A rim at 140 mm that goes 0.35 mm up and down leans by 0.35/2/140 to either side; over 55 mm of sleeve that is a play
// of 55 × 0.00125/2 = 0.0344 mm (by hand).
START_TEST(a_platter_that_rocks_tells_its_play)
{
    DwSheet *sheet = call_well("bearing", "bearing.rock=0.35mm bearing.rock_radius=140mm bearing.rock_span=55mm");
    const DwReading *play = dw_sheet_reading(sheet, "bearing.play");
    ck_assert_double_eq_tol(play->value, 34.375, 0.001);
    ck_assert(play->uncertainty > 1.9 && play->uncertainty < 2.2); // 0.02 mm of the gauge are 2 um, a millimetre 0.7
    ck_assert(!says(sheet->remarks, sheet->remark_count, "worn"));
    dw_sheet_free(sheet);
    sheet = call_well("bearing", "bearing.rock=0.9mm platter.diameter=280mm bearing.sleeve_length=55mm");
    ck_assert(says(sheet->remarks, sheet->remark_count, "worn sleeve or spindle"));
    dw_sheet_free(sheet);
    sheet = call_well("bearing",
                      "bearing.rock=0.35mm platter.diameter=280mm bearing.sleeve_length=55mm bearing.clearance=12um");
    ck_assert(says(sheet->remarks, sheet->remark_count, "Rocking gives 34 um where bearing.clearance says 12 um"));
    dw_sheet_free(sheet);
    sheet = call_well("bearing", "bearing.rock=0.35mm");
    ck_assert_ptr_null(dw_sheet_reading(sheet, "bearing.play"));
    dw_sheet_free(sheet);
}
END_TEST

DW_SUITE("bearing", a_platter_that_rocks_tells_its_play, the_airs_drag_is_not_the_oils,
         films_and_sinking_have_their_doubt, an_oil_is_named_by_both_standards, drags_are_found_and_compared,
         without_inertia_only_times_are_given, oils_films_and_sinking, a_clearance_that_sinking_contradicts_is_said,
         bad_calls_are_refused_in_a_line, a_recorded_run_down_gives_the_drags)
