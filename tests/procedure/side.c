// SPDX-License-Identifier: MIT
// side on files of known truth: what its parts read, and what is said of sides
// that are wired wrong, mono, cut off, or planned wrong.
#include "call.h"
#include "dsp/weighting_curve.h"
#include "procedure/input/noise_reference.h"
#include "support/alike.h"
#include "support/side_file.h"

#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

static const char plan_text[] =
    "[record]\nreference = 5 cm/s\nlead_in = 3 s\ngap = 1.5 s\n"
    "[band 1]\nkind = tone\nchannel = lateral\nfrequency = 1 kHz\nlevel = 0 dB\nlength = 8 s\n"
    "[band 2]\nkind = tone\nchannel = left\nfrequency = 1 kHz\nlevel = 3.54 cm/s\nlength = 8 s\n"
    "[band 3]\nkind = tone\nchannel = right\nfrequency = 1 kHz\nlevel = 3.54 cm/s\nlength = 8 s\n"
    "[band 4]\nkind = tone\nchannel = vertical\nfrequency = 1 kHz\nlevel = 0 dB\nlength = 6 s\n"
    "[band 5]\nkind = tone\nchannel = lateral\nfrequency = 3150 Hz\nlevel = 0 dB\nlength = 20 s\n"
    "[band 6]\nkind = sweep\nchannel = left\nfrom = 20 Hz\nto = 20 kHz\nlevel = 2 cm/s\nlength = 30 s\n"
    "[band 7]\nkind = sweep\nchannel = right\nfrom = 20 Hz\nto = 20 kHz\nlevel = 2 cm/s\nlength = 30 s\n"
    "[band 8]\nkind = silence\nlength = 30 s\n"
    "[band 9]\nkind = steps\nchannel = lateral\nfrequency = 300 Hz\nlevel = 40 50 60 70 80 um\nlength = 20 s\n"
    "[band 10]\nkind = two-tone\nchannel = lateral\nfrequency = 400 Hz 4 kHz\nlevel = 5 cm/s\nlength = 8 s\n"
    "[band 11]\nkind = sweep\nchannel = lateral\nfrom = 25 Hz\nto = 4 Hz\nlevel = 1 cm/s\nlength = 30 s\n"
    "[band 12]\nkind = sweep\nchannel = vertical\nfrom = 25 Hz\nto = 4 Hz\nlevel = 1 cm/s\nlength = 30 s\n";

// A side in a file and its plan in another, both gone with the test.
typedef struct {
    char recording[64], plan[64];
    SidePlayer player;
    DwBandPlan truth;
} Take;

static void record(Take *take, SideCase what, const char *plan)
{
    static unsigned number;
    DwMessage message = {""};
    snprintf(take->recording, sizeof take->recording, "side-%d-%u.wav", (int)getpid(), number);
    snprintf(take->plan, sizeof take->plan, "side-%d-%u.plan", (int)getpid(), number++);
    ck_assert_int_eq(dw_band_plan_parse(plan_text, strlen(plan_text), "truth", &take->truth, &message), DW_OK);
    side_start(&take->player, &take->truth, what);
    ck_assert_msg(side_write(&take->player, take->recording, &message) == DW_OK, "%s", message.text);
    FILE *file = fopen(take->plan, "w");
    ck_assert(file && fputs(plan, file) >= 0 && fclose(file) == 0);
}

static void erase(Take *take)
{
    unlink(take->recording);
    unlink(take->plan);
    dw_band_plan_clear(&take->truth);
}

static DwSheet *measure(const Take *take, const char *more, DwMessage *message)
{
    char operands[300];
    snprintf(operands, sizeof operands, "record.plan=%s %s", take->plan, more);
    return call_files("side", (const char *const[]){take->recording}, 1, operands, message);
}

static DwSheet *measure_well(const Take *take, const char *more)
{
    DwMessage message = {""};
    DwSheet *sheet = measure(take, more, &message);
    ck_assert_msg(sheet, "%s", message.text);
    return sheet;
}

static const char *verdict(const DwSheet *sheet, unsigned band)
{
    const DwTable *table = dw_sheet_table(sheet, "side.bands");
    return dw_table_cell(table, band - 1, 6)->word;
}

// The gain from wall WALL to output OUT.
static double gain(const SideCase *what, size_t wall, size_t out)
{
    double complex size[2];
    band_matrix(&what->pickup, (const double[2]){wall == 0, wall == 1}, size);
    return cabs(size[out]);
}

static SideCase real_case(double speed)
{
    SideCase what = side_case(48000, speed);
    what.pickup.rotation_deg = 1.2;
    what.pickup.leak[0] = 0.02;
    what.pickup.leak[1] = 0.03;
    what.pickup.gain[1] = 1.08;
    what.pickup.rumble = 0.05;
    what.treble = 0.9;
    what.resonance_hz[0] = 8.5;
    what.resonance_hz[1] = 11;
    what.resonance_q[0] = 3;
    what.resonance_q[1] = 4;
    what.pickup.limit[1] = 0; // set by the tracking test
    return what;
}

// Mean square of the silent groove under CURVE, by summing its spectrum.
static double noise_power(const SideCase *what, const DwNoiseCurve *curve)
{
    double rate = what->pickup.rate_hz, step = 0.25, sum = 0;
    for (double hz = 1; hz < rate / 2; hz += step) {
        double turn = 2 * M_PI * hz / rate;
        double pole = pow(cabs(0.004 / (1 - 0.996 * cexp(-I * turn))), 2);
        double density = (pow(what->pickup.noise, 2) + pow(what->pickup.rumble, 2) * pole) / (rate / 2);
        sum += step * density * pow(10, dw_weighting_curve_db(&curve->points, hz) / 10);
    }
    return sum;
}

static void check_noise(const DwSheet *sheet, const SideCase *what)
{
    static const char *const keys[2][2] = {{"rumble-unweighted", "noise.rumble_unweighted"},
                                           {"rumble-weighted", "noise.rumble_weighted"}};
    // 10 cm/s lateral at 1 kHz gives each channel 10/√2 peak, so 5 cm/s rms.
    double complex both[2];
    band_matrix(&what->pickup, (const double[2]){1, 1}, both);
    double left = cabs(both[0]), right = cabs(both[1]);
    double turn = 2 * M_PI * 1000 * what->pickup.speed / what->pickup.rate_hz;
    double pole = cabs(what->treble / (1 - (1 - what->treble) * cexp(-I * turn)));
    double reference = 5 / what->full_scale_cm_s * sqrt((left * left + right * right) / 2) * pole;
    for (size_t i = 0; i < 2; i++) {
        DwNoiseCurve curve;
        ck_assert_int_eq(dw_noise_curve_read(keys[i][0], &curve, NULL), DW_OK);
        double expected = -10 * log10(noise_power(what, &curve) / (reference * reference));
        ck_assert_double_eq_tol(value(sheet, keys[i][1]), expected, 0.3);
    }
}

static void check_response(const DwSheet *sheet, const SideCase *what)
{
    const DwTable *table = dw_sheet_table(sheet, "response.thirds");
    ck_assert_uint_ge(table->row_count, 27);
    for (size_t row = 0; row < table->row_count; row++) {
        double hz = dw_table_cell(table, row, 0)->number, level[2];
        if (hz < 30 * what->pickup.speed || hz > 16500)
            continue; // where the sweep only begins and ends
        for (size_t i = 0; i < 2; i++) {
            double turn = 2 * M_PI * (i ? 1000 : hz) / what->pickup.rate_hz;
            level[i] = 20 * log10(cabs(what->treble / (1 - (1 - what->treble) * cexp(-I * turn))));
        }
        // Low down the rumble, 29 dB under the sweep, beats with the few periods of each third.
        for (size_t c = 0; c < 2; c++)
            ck_assert_msg(fabs(dw_table_cell(table, row, 1 + c)->number - (level[0] - level[1])) <
                              (hz < 60 ? 0.3 : 0.1),
                          "%g Hz: %.3f, truth %.3f", hz, dw_table_cell(table, row, 1 + c)->number, level[0] - level[1]);
    }
}

static void check_all(const DwSheet *sheet, const SideCase *what)
{
    ck_assert_double_eq(value(sheet, "side.found"), 12);
    ck_assert_double_eq(value(sheet, "side.missing"), 0);
    ck_assert_double_eq_tol(value(sheet, "speed.error"), 100 * (what->pickup.speed - 1), 0.01);
    ck_assert_double_eq_tol(value(sheet, "channels.balance"), 20 * log10(gain(what, 1, 1) / gain(what, 0, 0)), 0.02);
    ck_assert_double_eq_tol(value(sheet, "channels.separation_left"), -20 * log10(gain(what, 0, 1) / gain(what, 1, 1)),
                            0.2);
    ck_assert_double_eq_tol(value(sheet, "channels.separation_right"), -20 * log10(gain(what, 1, 0) / gain(what, 0, 0)),
                            0.2);
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.polarity")->word, "in phase");
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.fault")->word, "none");
    ck_assert_double_eq_tol(value(sheet, "lowsweep.lateral"), 8.5, 0.1);
    ck_assert_double_eq_tol(value(sheet, "lowsweep.vertical"), 11, 0.1);
    ck_assert_double_eq_tol(value(sheet, "lowsweep.q_lateral"), 3, 0.3);
    ck_assert_double_eq_tol(value(sheet, "lowsweep.q_vertical"), 4, 0.4);
    check_noise(sheet, what);
    check_response(sheet, what);
    ck_assert_double_lt(value(sheet, "intermod.left"), 0.2);
}

START_TEST(each_band_is_measured_for_what_it_is_there_for)
{
    static const double speeds[] = {1.004, 0.94, 1.35};
    for (size_t i = 0; i < sizeof speeds / sizeof *speeds; i += alike(1, 2)) {
        SideCase what = real_case(speeds[i]);
        Take take;
        // The right wall is lost above 62 µm of 300 Hz, as played.
        double played = 300 * speeds[i];
        what.pickup.limit[1] = what.pickup.gain[1] * 2 * M_PI * 300 * 62e-4 / sqrt(2) * speeds[i] *
                               side_replay(played) / what.full_scale_cm_s;
        record(&take, what, plan_text);
        DwSheet *sheet = measure_well(&take, "tracking.limit=1%");
        check_all(sheet, &what);
        // Half of what the leaks differ by looks like rotation: (0.03 − 0.02)/2 of a radian.
        double turned = what.pickup.rotation_deg + 0.5 * (what.pickup.leak[0] - what.pickup.leak[1]) * 180 / M_PI;
        ck_assert_double_eq_tol(value(sheet, "azimuth.rotation"), turned, 0.05);
        ck_assert_double_eq(value(sheet, "tracking.passed_right"), 60);
        ck_assert_double_eq(value(sheet, "tracking.passed_left"), 80);
        // The record's steps are within 0.1 dB (standard) of what is stated: 0.196 dB are 2.28 %.
        ck_assert_double_eq_tol(dw_sheet_reading(sheet, "tracking.passed_right")->uncertainty, 0.0228 * 60, 0.01);
        dw_sheet_free(sheet);
        erase(&take);
    }
}
END_TEST

START_TEST(azimuth_and_wiring_are_told)
{
    SideCase what = real_case(0.99);
    what.pickup.leak[0] = what.pickup.leak[1] = 0.02;
    what.pickup.gain[1] = 1;
    what.pickup.swapped = true;
    Take take;
    record(&take, what, plan_text);
    DwSheet *sheet = measure_well(&take, "");
    ck_assert_double_eq_tol(value(sheet, "azimuth.rotation"), 1.2, 0.05);
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.fault")->word, "swapped");
    ck_assert(says(sheet->remarks, sheet->remark_count, "come out swapped"));
    dw_sheet_free(sheet);
    erase(&take);
    what.pickup.swapped = false;
    what.pickup.reversed = true;
    record(&take, what, plan_text);
    sheet = measure_well(&take, "");
    ck_assert_double_eq_tol(value(sheet, "azimuth.rotation"), 1.2, 0.05);
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.polarity")->word, "in opposite phase");
    ck_assert_str_eq(dw_sheet_reading(sheet, "channels.fault")->word, "reversed");
    ck_assert_str_eq(verdict(sheet, 1), "found");
    dw_sheet_free(sheet);
    erase(&take);
}
END_TEST

// The outer wall gives out above 60 µm; the leads as WIRED. The record's own body does not
// change with the leads: resonances, rumble's directions and the failing wall stay the same.
START_TEST(leads_do_not_change_what_the_record_says)
{
    static const struct {
        bool swapped, reversed;
        const char *advice;
    } cases[] = {
        {false, false, "The right channel (outer wall) distorts first: raise the anti-skating"},
        {true, false, "If the leads are swapped, raise the anti-skating"},
        {false, true, "The right channel (outer wall) distorts first: raise the anti-skating"},
        {true, true, "If the leads are swapped, raise the anti-skating"},
    };
    double lateral = NAN, vertical = NAN;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i += alike(1, 3)) {
        SideCase what = real_case(1);
        what.pickup.swapped = cases[i].swapped;
        what.pickup.reversed = cases[i].reversed;
        what.pickup.limit[1] =
            what.pickup.gain[1] * 2 * M_PI * 300 * 62e-4 / sqrt(2) * side_replay(300) / what.full_scale_cm_s;
        Take take;
        record(&take, what, plan_text);
        DwSheet *sheet = measure_well(&take, "tracking.limit=1%");
        ck_assert_double_eq_tol(value(sheet, "lowsweep.lateral"), 8.5, 0.1);
        ck_assert_double_eq_tol(value(sheet, "lowsweep.vertical"), 11, 0.1);
        ck_assert_double_eq(value(sheet, "tracking.passed_right"), 60);
        ck_assert_double_eq(value(sheet, "tracking.passed_left"), 80);
        ck_assert_msg(says(sheet->remarks, sheet->remark_count, cases[i].advice), "case %zu", i);
        ck_assert_msg(!says(sheet->remarks, sheet->remark_count, "first: lower"), "case %zu", i);
        lateral = i ? lateral : value(sheet, "noise.rumble_lateral");
        vertical = i ? vertical : value(sheet, "noise.rumble_vertical");
        ck_assert_double_eq_tol(value(sheet, "noise.rumble_lateral"), lateral, 0.3);
        ck_assert_double_eq_tol(value(sheet, "noise.rumble_vertical"), vertical, 0.3);
        dw_sheet_free(sheet);
        erase(&take);
    }
}
END_TEST

START_TEST(a_channel_that_is_not_there_gives_no_advice_on_sides)
{
    for (size_t which = 0; which < 3; which += alike(1, 2)) {
        SideCase what = real_case(1);
        what.pickup.dead[0] = which == 0;
        what.pickup.dead[1] = which == 1;
        what.pickup.strapped = which == 2;
        what.pickup.limit[1] =
            what.pickup.gain[1] * 2 * M_PI * 300 * 62e-4 / sqrt(2) * side_replay(300) / what.full_scale_cm_s;
        Take take;
        record(&take, what, plan_text);
        DwSheet *sheet = measure_well(&take, "tracking.limit=1%");
        ck_assert(!says(sheet->remarks, sheet->remark_count, "raise the anti-skating"));
        ck_assert(!says(sheet->remarks, sheet->remark_count, "lower the anti-skating"));
        ck_assert(!dw_sheet_reading(sheet, "tracking.passed_left"));
        dw_sheet_free(sheet);
        erase(&take);
    }
}
END_TEST

START_TEST(what_is_missing_is_listed_with_the_reason)
{
    SideCase what = real_case(1.01);
    what.stop_s = 78; // in the second sweep
    Take take;
    record(&take, what, plan_text);
    DwSheet *sheet = measure_well(&take, "");
    ck_assert_double_eq(value(sheet, "side.found"), 6);
    ck_assert_double_eq(value(sheet, "side.missing"), 6);
    ck_assert_str_eq(verdict(sheet, 6), "cut short");
    ck_assert_str_eq(verdict(sheet, 12), "missing");
    ck_assert(is_not_measured(sheet, "band 7") && is_not_measured(sheet, "noise.rumble_unweighted") &&
              is_not_measured(sheet, "lowsweep.lateral") && is_not_measured(sheet, "tracking.steps") &&
              is_not_measured(sheet, "intermod.bands") && is_not_measured(sheet, "response.right"));
    ck_assert_double_eq_tol(value(sheet, "speed.error"), 1, 0.01);
    for (size_t i = 0; i < sheet->not_measured_count; i++)
        if (strcmp(sheet->not_measured[i].key, "band 12") == 0)
            ck_assert(strstr(sheet->not_measured[i].reason.text, "ends before it"));
    dw_sheet_free(sheet);
    erase(&take);
}
END_TEST

START_TEST(one_channel_and_a_broken_plan_give_what_they_can)
{
    static const char broken[] =
        "[record]\nreference = 5 cm/s\nlead_in = 3 s\ngap = 1.5 s\n"
        "[band 1]\nkind = tone\nchannel = lateral\nfrequency = 1 kHz\nlevel = 0 dB\nlength = 8 s\n"
        "[band 2]\nkind = tune\nlength = 8 s\n"
        "[band 3]\nkind = tone\nchannel = right\nlength = 8 s\n"
        "[band 5]\nkind = tone\nchannel = lateral\nfrequency = 3150 Hz\nlevel = 0 dB\nlength = 20 s\n";
    SideCase what = real_case(1);
    what.mono = true;
    what.stop_s = 75;
    Take take;
    record(&take, what, broken);
    DwSheet *sheet = measure_well(&take, "");
    ck_assert_double_eq(value(sheet, "side.found"), 2);
    ck_assert_str_eq(verdict(sheet, 2), "unusable");
    ck_assert(is_not_measured(sheet, "band 2") && is_not_measured(sheet, "band 3"));
    ck_assert(is_not_measured(sheet, "channels.balance") && is_not_measured(sheet, "azimuth.rotation"));
    ck_assert(says(sheet->remarks, sheet->remark_count, "The plan, line 12"));
    ck_assert(says(sheet->remarks, sheet->remark_count, "one channel"));
    ck_assert_double_eq_tol(value(sheet, "speed.error"), 0, 0.01);
    dw_sheet_free(sheet);
    erase(&take);
}
END_TEST

START_TEST(calls_that_cannot_work_are_refused)
{
    SideCase what = real_case(1);
    what.stop_s = 20;
    Take take;
    record(&take, what, "[record]\nspeed = 33\n");
    DwMessage message = {""};
    ck_assert_ptr_null(measure(&take, "", &message));
    ck_assert_msg(strstr(message.text, "no band of it can be used"), "%s", message.text);
    ck_assert_ptr_null(call_files("side", (const char *const[]){take.recording}, 1, "", &message));
    ck_assert_msg(strstr(message.text, "record.plan"), "%s", message.text);
    ck_assert_ptr_null(
        call_files("side", (const char *const[]){take.recording}, 1, "record.plan=nowhere.plan", &message));
    ck_assert_msg(strstr(message.text, "nowhere.plan"), "%s", message.text);
    erase(&take);
    record(&take, what, "[band 1]\nkind = tone\nchannel = left\nfrequency = 7 kHz\nlength = 9 s\n");
    ck_assert_ptr_null(measure(&take, "", &message));
    ck_assert_msg(strstr(message.text, "none of the plan's 1 bands"), "%s", message.text);
    erase(&take);
}
END_TEST

// Lays COUNT plans beside one another in a folder of their own.
static void lay_out(char folder[64], const char *const names[], const char *const texts[], size_t count)
{
    snprintf(folder, 64, "plans-%d", (int)getpid());
    ck_assert_int_eq(mkdir(folder, 0700), 0);
    for (size_t i = 0; i < count; i++) {
        char path[120];
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        FILE *file = fopen(path, "w");
        ck_assert(file && fputs(texts[i], file) >= 0 && fclose(file) == 0);
    }
}

static void clear_away(const char *folder, const char *const names[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char path[120];
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        unlink(path);
    }
    ck_assert_int_eq(rmdir(folder), 0);
}

// The other side of the record: tones that both sides have, and much that this one has not.
static const char other_text[] =
    "[record]\nreference = 5 cm/s\nlead_in = 3 s\ngap = 2 s\n"
    "[band 1]\nkind = tone\nchannel = lateral\nfrequency = 3150 Hz\nlevel = 0 dB\nlength = 60 s\n"
    "[band 2]\nkind = tone\nchannel = left\nfrequency = 10 kHz\nlevel = 1 cm/s\nlength = 30 s\n"
    "[band 3]\nkind = tone\nchannel = right\nfrequency = 10 kHz\nlevel = 1 cm/s\nlength = 30 s\n"
    "[band 4]\nkind = tone\nchannel = lateral\nfrequency = 1 kHz\nlevel = 0 dB\nlength = 8 s\n";

START_TEST(a_recording_of_another_side_is_named)
{
    static const char *const names[] = {"one.plan", "two.plan"};
    const char *const texts[] = {plan_text, other_text};
    char folder[64], operands[200];
    Take take;
    record(&take, real_case(1.01), plan_text);
    lay_out(folder, names, texts, 2);
    DwMessage message = {""};
    const char *const files[] = {take.recording};
    snprintf(operands, sizeof operands, "record.plan=%s/two.plan", folder);
    ck_assert_ptr_null(call_files("side", files, 1, operands, &message));
    ck_assert_msg(strstr(message.text, "this is not the side of") && strstr(message.text, "/one.plan"), "%s",
                  message.text);
    snprintf(operands, sizeof operands, "record.plan=%s/one.plan", folder);
    DwSheet *sheet = call_files("side", files, 1, operands, &message);
    ck_assert_msg(sheet, "%s", message.text);
    ck_assert(!says(sheet->cautions, sheet->caution_count, "hardly the side"));
    dw_sheet_free(sheet);
    clear_away(folder, names, 2);
    // A plan of the same tones and half of the rest is measured by, but the better one is named.
    char alike_text[sizeof plan_text];
    snprintf(alike_text, sizeof alike_text, "%.*s", (int)(strstr(plan_text, "[band 6]") - plan_text), plan_text);
    char *length = strstr(alike_text, "length = 20 s");
    ck_assert_ptr_nonnull(length);
    memcpy(length, "length = 60 s", 13);
    lay_out(folder, names, (const char *const[]){plan_text, alike_text}, 2);
    snprintf(operands, sizeof operands, "record.plan=%s/two.plan", folder);
    sheet = call_files("side", files, 1, operands, &message);
    ck_assert_msg(sheet, "%s", message.text);
    ck_assert(says(sheet->cautions, sheet->caution_count, "/one.plan fits this recording far better"));
    dw_sheet_free(sheet);
    clear_away(folder, names, 2);
    // Where no plan fits, what was found is measured, and it is said that it may be nothing.
    lay_out(folder, names + 1, texts + 1, 1);
    snprintf(operands, sizeof operands, "record.plan=%s/two.plan", folder);
    sheet = call_files("side", files, 1, operands, &message);
    ck_assert_msg(sheet, "%s", message.text);
    ck_assert(says(sheet->cautions, sheet->caution_count, "hardly the side"));
    dw_sheet_free(sheet);
    clear_away(folder, names + 1, 1);
    erase(&take);
}
END_TEST

DW_SUITE("side", each_band_is_measured_for_what_it_is_there_for, what_is_missing_is_listed_with_the_reason,
         one_channel_and_a_broken_plan_give_what_they_can, calls_that_cannot_work_are_refused,
         a_recording_of_another_side_is_named, azimuth_and_wiring_are_told, DW_FIGURES,
         leads_do_not_change_what_the_record_says, a_channel_that_is_not_there_gives_no_advice_on_sides)
