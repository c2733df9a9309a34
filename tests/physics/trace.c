// SPDX-License-Identifier: MIT
// Synthetic lines of known origin. Nothing here is measured.
#include "physics/trace.h"

#include "physics/example_drives.h"
#include "support/suite.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

// Rim 160, 24 poles at 50 Hz, belt 0.8 mm: platter 0.5556, belt about 0.48, motor 4.1667 Hz.
static size_t belt_rates(DwRate rates[DW_RATES_MOST])
{
    DwDrive drive = example_belt_drive(20.64);
    drive.motor_poles = 24;
    drive.mains_hz = 50;
    return dw_drive_rates(&drive, 100.0 / 3, rates);
}

static size_t idler_rates(DwRate rates[DW_RATES_MOST])
{
    DwDrive drive = example_idler_drive();
    return dw_drive_rates(&drive, 100.0 / 3, rates);
}

static DwTraceFinding trace_one(const DwRate *rates, size_t count, double hz, double seconds)
{
    DwTraceLine line = {hz, 0.001, 0.1};
    DwTraceFinding finding;
    dw_trace_lines(&line, 1, rates, count, seconds, NAN, &finding);
    return finding;
}

static const char *words(const DwTraceFinding *finding)
{
    static char buffer[100];
    return dw_trace_words(finding, buffer, sizeof buffer);
}

START_TEST(each_part_is_named_at_its_rate)
{
    static const struct {
        bool idler;
        double hz;
        const char *words;
        unsigned harmonic;
    } cases[] = {
        {false, 0.5556, "platter or record", 1},
        {false, 1.1111, "platter or record", 2},
        {false, 4.1667, "motor", 1},
        {false, 8.3330, "motor", 2},
        {false, 100.00, "mains", 2},
        {false, 0.3100, "unknown", 0},
        {false, 2.9000, "unknown", 0},
        {true, 3.4568, "idler", 1},
        {true, 6.9136, "idler", 2},
        {true, 25.000, "motor", 1},
        {true, 100.00, "mains", 2},
        {true, 0.5556, "platter or record", 1},
        {true, 14.000, "unknown", 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        DwRate rates[DW_RATES_MOST];
        size_t count = cases[i].idler ? idler_rates(rates) : belt_rates(rates);
        DwTraceFinding finding = trace_one(rates, count, cases[i].hz, 60);
        ck_assert_str_eq(words(&finding), cases[i].words);
        ck_assert_double_eq(finding.suspects[0].harmonic, cases[i].harmonic);
        ck_assert_double_gt(finding.confidence, 0.8);
        ck_assert_double_le(finding.confidence, 1 + 1e-12);
    }
}
END_TEST

START_TEST(belt_and_platter_need_their_time)
{
    DwRate rates[DW_RATES_MOST];
    size_t count = belt_rates(rates);
    DwTracePair pairs[8];
    double belt = rates[2].rate_hz, platter = rates[0].rate_hz;
    double wanted = 1 / (platter - belt);
    ck_assert_int_eq(rates[2].part, DW_PART_BELT);

    DwTraceFinding both = trace_one(rates, count, (belt + 2 * platter) / 3, 0.8 * wanted);
    ck_assert_str_eq(words(&both), "platter or record or belt");
    ck_assert_uint_eq(dw_trace_pairs(&both, 1, rates, count, 0.8 * wanted, pairs, 8), 1);
    ck_assert_int_eq(pairs[0].parts[0], DW_PART_PLATTER);
    ck_assert_int_eq(pairs[0].parts[1], DW_PART_BELT);
    ck_assert_double_eq_tol(pairs[0].seconds, wanted, 1e-9);

    DwTraceFinding one = trace_one(rates, count, belt, 4 * wanted);
    ck_assert_str_eq(words(&one), "belt");
    ck_assert_uint_eq(dw_trace_pairs(&one, 1, rates, count, 4 * wanted, pairs, 8), 0);

    // Trade practice: a belt of 0.52 to 0.54 Hz beside 0.556 Hz needs 30 to 55 s and more.
    ck_assert_double_eq_tol(dw_trace_seconds(0.522, 0.5556), 30, 1);
    ck_assert_double_eq_tol(dw_trace_seconds(0.5374, 0.5556), 55, 1);
}
END_TEST

START_TEST(rates_that_coincide_are_never_told_apart)
{
    // A belt exactly as long as the rim's circumference allows no separation.
    DwRate rates[] = {{DW_PART_PLATTER, 0.75, 1e-4}, {DW_PART_RECORD, 0.75, 1e-4}, {DW_PART_BELT, 0.75, 1e-3}};
    DwTracePair pairs[8];
    DwTraceFinding finding = trace_one(rates, 3, 0.75, 3600);
    ck_assert_str_eq(words(&finding), "platter or record or belt");
    ck_assert_uint_eq(dw_trace_pairs(&finding, 1, rates, 3, 3600, pairs, 8), 1);
    ck_assert(isinf(pairs[0].seconds));
}
END_TEST

START_TEST(shares_are_of_power)
{
    DwRate rates[DW_RATES_MOST];
    size_t count = belt_rates(rates);
    DwTraceLine lines[] = {{0.5556, 0.001, 0.3}, {4.1667, 0.001, 0.4}};
    DwTraceFinding findings[2];
    dw_trace_lines(lines, 2, rates, count, 60, NAN, findings);
    ck_assert_double_eq_tol(findings[0].share, 36, 1e-9);
    ck_assert_double_eq_tol(findings[1].share, 64, 1e-9);
    // Against a flutter of 0.5 % rms in all: 0.4²/2 of 0.25.
    dw_trace_lines(lines, 2, rates, count, 60, 0.25, findings);
    ck_assert_double_eq_tol(findings[1].share, 32, 1e-9);
}
END_TEST

START_TEST(a_high_harmonic_alone_is_not_the_platters)
{
    // A motor of 360 rpm turns exactly eight times with a platter of 45 rpm.
    DwRate rates[] = {{DW_PART_PLATTER, 0.75, 1e-4}, {DW_PART_RECORD, 0.75, 1e-4}, {DW_PART_MOTOR, 6, 6e-3}};
    DwTraceFinding finding = trace_one(rates, 3, 6, 60);
    ck_assert_str_eq(words(&finding), "motor");
    // With a strong fundamental and no motor in sight the eighth is the platter's.
    DwTraceLine lines[] = {{0.75, 0.001, 0.3}, {6, 0.001, 0.05}};
    DwTraceFinding findings[2];
    dw_trace_lines(lines, 2, rates, 2, 60, NAN, findings);
    ck_assert_str_eq(words(&findings[1]), "platter or record");
    ck_assert_double_eq(findings[1].suspects[0].harmonic, 8);
}
END_TEST

START_TEST(what_lies_far_off_a_part_is_not_its)
{
    // A motor at 5 Hz known to 0.01 Hz: three deviations off it may be, four off hardly ever (6 in 100 000).
    const DwRate motor = {DW_PART_MOTOR, 5, 0.01};
    DwTraceFinding near = trace_one(&motor, 1, 5.030, 600), far = trace_one(&motor, 1, 5.042, 600);
    ck_assert_int_eq(near.suspects[0].part, DW_PART_MOTOR);
    ck_assert_int_eq(far.suspects[0].part, DW_PART_UNKNOWN);
}
END_TEST

START_TEST(the_mains_shows_at_twice_its_frequency)
{
    // By Bayes' rule, by hand: at 50 Hz a prior of 0.1 × 0.3 over a deviation of 1 Hz, at 100 Hz one of 0.1 over 2 Hz,
    // each against 0.3 spread evenly over the logarithm of 0.1 to 200 Hz. One deviation in twenty is three times as
    // large.
    const DwRate mains = {DW_PART_MAINS, 50, 1};
    DwTraceFinding once = trace_one(&mains, 1, 50, 600), twice = trace_one(&mains, 1, 100, 600);
    ck_assert_double_eq_tol(once.suspects[0].confidence, 0.9377, 1e-4);
    ck_assert_double_eq_tol(twice.suspects[0].confidence, 0.9805, 1e-4);
}
END_TEST

// COUNT lines at multiples of TURN_HZ, each a little off as a fit leaves it.
static void add_row(DwTraceLine *lines, size_t count, double turn_hz, double off_hz)
{
    for (size_t h = 1; h <= count; h++)
        lines[h - 1] =
            (DwTraceLine){(double)h * turn_hz + (h % 2 ? 0.4 : -0.4) * off_hz, off_hz, 0.06 / sqrt((double)h)};
}

START_TEST(lines_that_were_parted_do_not_blend)
{
    // Belt and platter 0.86 of a width apart, and a line at either: what the belt does at its multiples is its own.
    const DwRate rates[] = {
        {DW_PART_PLATTER, 0.5570, 0.0014}, {DW_PART_RECORD, 0.5570, 0.0014}, {DW_PART_BELT, 0.5390, 0.003}};
    DwTraceLine lines[13];
    DwTraceFinding findings[13];
    add_row(lines, 12, 0.5379, 0.0004);
    lines[12] = (DwTraceLine){0.5578, 0.0009, 0.011};
    dw_trace_lines(lines, 13, rates, 3, 45, NAN, findings);
    for (size_t i = 0; i < 12; i++) {
        ck_assert_str_eq(words(&findings[i]), "belt");
        ck_assert_double_gt(findings[i].confidence, 0.9);
    }
    ck_assert_str_eq(words(&findings[12]), "platter or record");
}
END_TEST

START_TEST(a_row_of_multiples_is_one_parts)
{
    // An idler whose tread was not measured well: its fifth multiple is known to 0.1 Hz, and no line alone is surely
    // its.
    const DwRate rates[] = {{DW_PART_PLATTER, 0.5543, 0.0014},
                            {DW_PART_RECORD, 0.5543, 0.0014},
                            {DW_PART_IDLER, 2.732, 0.0095},
                            {DW_PART_MOTOR, 29.02, 0.15}};
    DwTraceLine lines[14];
    DwTraceFinding findings[14];
    add_row(lines, 14, 2.7595, 0.004);
    dw_trace_lines(lines, 14, rates, 4, 20, NAN, findings);
    for (size_t i = 0; i < 14; i++)
        ck_assert_msg(findings[i].suspects[0].part == DW_PART_IDLER, "line %zu: %s", i, words(&findings[i]));
}
END_TEST

START_TEST(the_tenth_multiple_of_a_belt_is_the_belts)
{
    // A belt described to 0.27 % (its path) or to 1 % (its free length), 0.7 of that off; in 20 s and in 60 s. Where it
    // shows lower down its tenth multiple is its own, half as strong again as well. Alone it is nobody's: the reach of
    // the description at the tenth, twice 1 % of 4.87 Hz either way, is 40 % of the way from one multiple to the next.
    static const double reaches[] = {0.0027, 0.01}, seconds[] = {20, 60}, strengths[] = {0.3, 0.9};
    const double turn = 0.4872;
    for (size_t i = 0; i < 8; i++) {
        double reach = reaches[i & 1], length = seconds[i >> 1 & 1], strength = strengths[i >> 2];
        const DwRate rates[] = {{DW_PART_PLATTER, 0.5556, 0.0014},
                                {DW_PART_RECORD, 0.5556, 0.0014},
                                {DW_PART_BELT, turn * (1 + 0.7 * reach), turn * hypot(reach, 0.0025)},
                                {DW_PART_MOTOR, 6.25, 0.003}};
        const DwTraceLine lines[] = {
            {10 * turn, 0.03 / length, 0.05 * strength}, {turn, 0.03 / length, 0.05}, {2 * turn, 0.03 / length, 0.025}};
        DwTraceFinding findings[3];
        dw_trace_lines(lines, 3, rates, 4, length, NAN, findings);
        ck_assert_msg(findings[0].suspects[0].part == DW_PART_BELT, "%zu: %s", i, words(&findings[0]));
        ck_assert_double_eq_tol(findings[0].suspects[0].harmonic, 10, 1e-12);
        dw_trace_lines(lines, 1, rates, 4, length, NAN, findings);
        ck_assert_str_eq(words(&findings[0]), "unknown");
    }
}
END_TEST

START_TEST(the_multiples_of_a_first_belt_are_its_own)
{
    // Of two belts the one from the motor, known by its free length, shows by a row; the platter's shows once.
    const DwRate rates[] = {
        {DW_PART_PLATTER, 0.5556, 0.0014}, {DW_PART_RECORD, 0.5556, 0.0014},
        {DW_PART_BELT, 0.5085, 0.0020},    {DW_PART_BELT, 3.44, 0.036, .turn = "first belt"},
        {DW_PART_IDLER, 4.05, 0.02},       {DW_PART_MOTOR, 30.0, 0.015},
    };
    DwTraceLine lines[13] = {{0.5088, 0.0006, 0.006}};
    DwTraceFinding findings[13];
    add_row(lines + 1, 12, 3.4772, 0.001);
    dw_trace_lines(lines, 13, rates, 6, 60, NAN, findings);
    ck_assert_str_eq(words(&findings[0]), "belt");
    ck_assert_ptr_null(findings[0].suspects[0].turn);
    for (size_t i = 1; i < 13; i++) {
        ck_assert_msg(strcmp(words(&findings[i]), "belt") == 0, "line %zu: %s", i, words(&findings[i]));
        ck_assert_str_eq(findings[i].suspects[0].turn, "first belt");
    }
}
END_TEST

START_TEST(a_row_tells_the_turn_of_a_belt_of_doubtful_length)
{
    // A belt known by its length alone, to one percent, 0.37 of a cycle from the platter in 20 s: their first lines
    // blend, and its higher multiples stand where the description does not reach. Drawn apart: it turns at 0.53896 Hz.
    const DwRate rates[] = {{DW_PART_PLATTER, 0.5558, 0.0014},
                            {DW_PART_RECORD, 0.5558, 0.0014},
                            {DW_PART_BELT, 0.5388, 0.0055},
                            {DW_PART_MOTOR, 14.12, 0.055}};
    const DwTraceLine lines[] = {{0.5530, 0.0006, 0.0836}, {3.774, 0.0010, 0.0268}, {3.234, 0.0012, 0.0258},
                                 {4.310, 0.0016, 0.0181},  {2.696, 0.0020, 0.0179}, {2.155, 0.0037, 0.0123},
                                 {1.618, 0.0046, 0.0109},  {4.850, 0.0022, 0.0100}};
    DwTraceFinding findings[8];
    dw_trace_lines(lines, 8, rates, 4, 19.8, NAN, findings);
    for (size_t i = 1; i < 8; i++)
        ck_assert_msg(findings[i].suspects[0].part == DW_PART_BELT, "%.3f Hz: %s", lines[i].frequency_hz,
                      words(&findings[i]));
    // Lines that stand anywhere are nobody's row.
    const DwTraceLine strays[] = {{0.81, 0.002, 0.08}, {1.93, 0.002, 0.03}, {2.96, 0.002, 0.03},
                                  {3.53, 0.002, 0.02}, {4.52, 0.002, 0.02}, {5.11, 0.002, 0.01}};
    dw_trace_lines(strays, 6, rates, 4, 19.8, NAN, findings);
    for (size_t i = 0; i < 6; i++)
        ck_assert_str_eq(words(&findings[i]), "unknown");
}
END_TEST

START_TEST(a_motors_row_is_not_the_belts)
{
    // Every row of a motor's multiples is one of the twenty-second part of its turn, too, where a belt may turn.
    const DwRate rates[] = {{DW_PART_PLATTER, 0.5543, 0.0014},
                            {DW_PART_RECORD, 0.5543, 0.0014},
                            {DW_PART_BELT, 0.5066, 0.0035},
                            {DW_PART_MOTOR, 11.17, 0.04},
                            {DW_PART_MOTOR, 67.02, 0.24, "commutation", 6, 2, 1, .follows = 6},
                            {DW_PART_MOTOR, 111.7, 0.40, "commutation", 10, 2, 1, .follows = 10}};
    const DwTraceLine lines[] = {{11.1733, 0.0002, 0.27}, {67.0398, 0.0004, 0.12}, {111.733, 0.0006, 0.05},
                                 {134.080, 0.0010, 0.04}, {0.5065, 0.0008, 0.02},  {0.5543, 0.0008, 0.02}};
    static const DwPart parts[] = {DW_PART_MOTOR, DW_PART_MOTOR, DW_PART_MOTOR,
                                   DW_PART_MOTOR, DW_PART_BELT,  DW_PART_PLATTER};
    DwTraceFinding findings[6];
    dw_trace_lines(lines, 6, rates, 6, 60, NAN, findings);
    for (size_t i = 0; i < 6; i++)
        ck_assert_msg(findings[i].suspects[0].part == parts[i] && (i == 5 || findings[i].suspect_count == 1),
                      "%.3f Hz: %s", lines[i].frequency_hz, words(&findings[i]));
}
END_TEST

START_TEST(a_row_that_may_be_either_s_is_not_nobody_s)
{
    // A belt's row in a short take, its first line read as the platter's: tone and line say different turns.
    const DwRate rates[] = {{DW_PART_PLATTER, 0.5308, 0.0123},
                            {DW_PART_RECORD, 0.5308, 0.0123},
                            {DW_PART_BELT, 0.5178, 0.0118},
                            {DW_PART_MOTOR, 7.5, 0.0037}};
    DwTraceLine lines[9];
    DwTraceFinding findings[9];
    add_row(lines, 9, 0.52992, 0.0005);
    dw_trace_lines(lines, 9, rates, 4, 19.8, NAN, findings);
    for (size_t i = 0; i < 9; i++)
        ck_assert_msg(findings[i].suspects[0].part == DW_PART_BELT || strstr(words(&findings[i]), "belt"),
                      "%.3f Hz: %s", lines[i].frequency_hz, words(&findings[i]));
}
END_TEST

START_TEST(what_stands_about_a_strong_line_is_its_part)
{
    // A bearing that rattles: the motor's line, and its unevenness to either side; no band of noise.
    const DwRate motor = {DW_PART_MOTOR, 6.25, 0.0031};
    const DwTraceLine lines[] = {{6.2538, 0.0014, 0.0757},
                                 {6.1848, 0.0052, 0.0203},
                                 {6.3469, 0.0062, 0.0123},
                                 {6.4791, 0.0070, 0.0100},
                                 {6.1125, 0.0073, 0.0093}};
    DwTraceFinding findings[5];
    dw_trace_lines(lines, 5, &motor, 1, 19.8, NAN, findings);
    for (size_t i = 0; i < 3; i++)
        ck_assert_msg(findings[i].suspects[0].part == DW_PART_MOTOR, "%.3f Hz: %s", lines[i].frequency_hz,
                      words(&findings[i]));
}
END_TEST

START_TEST(what_is_believed_ascends)
{
    for (int none = 0; none < 2; none++) {
        double before = -1;
        for (double said = 0; said <= 1.0001; said += 0.01) {
            DwTraceFinding finding = {.suspects = {{none ? DW_PART_UNKNOWN : DW_PART_BELT, 1, NULL, NULL, 1, said}},
                                      .suspect_count = 1,
                                      .confidence = fmin(1, said)};
            DwTraceFinding untold = finding;
            dw_trace_believe(&finding, 1, true);
            ck_assert(finding.confidence >= before && finding.confidence <= 1);
            before = finding.confidence;
            dw_trace_believe(&untold, 1, false);
            ck_assert(untold.confidence == (none ? fmin(1, said) : before));
        }
        ck_assert_double_gt(before, 0.9);
    }
}
END_TEST

START_TEST(another_parts_row_does_not_support_it)
{
    // The platter's eighth would be near the belt's ninth, but the platter shows once a turn and nothing else.
    const DwRate rates[] = {
        {DW_PART_PLATTER, 0.5547, 0.0014}, {DW_PART_RECORD, 0.5547, 0.0014}, {DW_PART_BELT, 0.4890, 0.0025}};
    DwTraceLine lines[12];
    DwTraceFinding findings[12];
    add_row(lines, 11, 0.4886, 0.001);
    lines[11] = (DwTraceLine){0.5544, 0.0036, 0.0085};
    dw_trace_lines(lines, 12, rates, 3, 20, NAN, findings);
    for (size_t i = 0; i < 11; i++)
        ck_assert_msg(strcmp(words(&findings[i]), "belt") == 0, "line %zu: %s", i, words(&findings[i]));
}
END_TEST

START_TEST(beside_a_line_that_wanders_it_is_its_part)
{
    const DwRate motor = {DW_PART_MOTOR, 5.0, 0.02};
    const DwTraceLine lines[] = {{5.003, 0.002, 0.1}, {5.09, 0.007, 0.018}, {5.9, 0.007, 0.018}};
    DwTraceFinding findings[3];
    dw_trace_lines(lines, 3, &motor, 1, 30, NAN, findings);
    ck_assert_str_eq(words(&findings[1]), "motor");
    ck_assert_double_lt(findings[1].confidence, 0.9); // likely, not sure
    ck_assert_str_eq(words(&findings[2]), "unknown");
}
END_TEST

START_TEST(a_stray_line_does_not_throw_out_a_parts_own)
{
    // A motor's line where it was described, and another within three deviations of twice its rate: either tells a
    // turn that the other contradicts. The surer one stays.
    DwRate rates[DW_RATES_MOST];
    size_t count = belt_rates(rates);
    for (double stray_hz = 8.319; stray_hz < 8.3265; stray_hz += 0.001) {
        const DwTraceLine lines[] = {{stray_hz, 0.0003, 0.178}, {4.16667, 1e-6, 0.125}, {0.83, 1e-6, 0.09}};
        DwTraceFinding findings[3];
        dw_trace_lines(lines, 3, rates, count, 90, NAN, findings);
        ck_assert_msg(strcmp(words(&findings[1]), "motor") == 0, "with %.3f Hz: %s", stray_hz, words(&findings[1]));
        ck_assert_str_eq(words(&findings[0]), "unknown");
    }
}
END_TEST

// An induction motor whose slip nobody stated, driving an idler.
static size_t slipping_rates(DwRate rates[DW_RATES_MOST])
{
    DwDrive drive = example_idler_drive();
    drive.motor = DW_MOTOR_INDUCTION;
    drive.pulley_mm = NAN;
    return dw_drive_rates(&drive, 100.0 / 3, rates);
}

START_TEST(a_beat_of_unknown_slip_takes_no_stray_line)
{
    DwRate rates[DW_RATES_MOST];
    size_t count = slipping_rates(rates);
    // Nothing tells the slip: the beat, 2 to 7 Hz, is a guess and not a finding.
    for (double hz = 1.9; hz < 9; hz += 0.5) {
        DwTraceFinding finding = trace_one(rates, count, hz, 60);
        ck_assert_msg(finding.suspects[0].part != DW_PART_MOTOR || finding.confidence < 0.5, "%.2f Hz: %s %.2f", hz,
                      words(&finding), finding.confidence);
    }
}
END_TEST

START_TEST(a_beat_follows_the_motors_own_line)
{
    // The shaft at 23.7 Hz: the beat is 2 × 50 − 4 × 23.7 = 5.2 Hz, and nothing else is.
    DwRate rates[DW_RATES_MOST];
    size_t count = slipping_rates(rates);
    for (double hz = 2.1; hz<9; hz += hz> 4 && hz < 5 ? 1.5 : 0.3) {
        const DwTraceLine lines[] = {{23.7, 0.0005, 0.1}, {hz, 0.0005, 0.05}};
        DwTraceFinding findings[2];
        dw_trace_lines(lines, 2, rates, count, 60, NAN, findings);
        ck_assert_msg(findings[1].suspects[0].part != DW_PART_MOTOR, "%.2f Hz: %s", hz, words(&findings[1]));
    }
    const DwTraceLine lines[] = {{23.7, 0.0005, 0.1}, {5.2, 0.0005, 0.05}};
    DwTraceFinding findings[2];
    dw_trace_lines(lines, 2, rates, count, 60, NAN, findings);
    ck_assert_str_eq(words(&findings[1]), "motor");
    ck_assert_str_eq(findings[1].suspects[0].what, "slip beat");
    ck_assert_double_gt(findings[1].confidence, 0.8);
}
END_TEST

START_TEST(a_tacho_is_not_mistaken_for_high_multiples_of_steps)
{
    // 12 poles, 9 slots, 60 lines: the fifth multiple of the poles comes with the tacho, by far the strongest.
    DwDrive drive;
    dw_drive_init(&drive, DW_DRIVE_DIRECT);
    drive.direct_poles = 12;
    drive.slots = 9;
    drive.tacho_lines = 60;
    drive.mains_hz = 50;
    DwRate rates[DW_RATES_MOST];
    size_t count = dw_drive_rates(&drive, 60 * 0.5545, rates);
    const DwTraceLine lines[] = {
        {60 * 0.5545, 0.0002, 0.05}, {36 * 0.5545, 0.0002, 0.016}, {12 * 0.5545, 0.0002, 0.004}};
    DwTraceFinding findings[3];
    dw_trace_lines(lines, 3, rates, count, 90, NAN, findings);
    ck_assert_str_eq(words(&findings[0]), "tacho");
    ck_assert_str_eq(words(&findings[1]), "pole");
}
END_TEST

START_TEST(noise_of_a_band_names_no_part)
{
    // A control that hunts, in 20 s: lines as near as the recording parts them, drawn evenly; one falls on the belt's
    // third multiple and one on the platter's.
    DwRate rates[DW_RATES_MOST];
    size_t count = belt_rates(rates);
    DwTraceLine lines[9];
    DwTraceFinding findings[9];
    for (size_t i = 0; i < 9; i++)
        lines[i] = (DwTraceLine){3 * rates[2].rate_hz + 0.078 * ((double)i - 3), 0.002, 0.08 - 0.002 * (double)i};
    lines[6].frequency_hz = 3 * rates[0].rate_hz;
    dw_trace_lines(lines, 9, rates, count, 20, NAN, findings);
    for (size_t i = 0; i < 9; i++)
        ck_assert_msg(findings[i].suspects[0].part == DW_PART_UNKNOWN || findings[i].confidence < 0.7,
                      "%.3f Hz: %s %.2f", lines[i].frequency_hz, words(&findings[i]), findings[i].confidence);
}
END_TEST

START_TEST(steps_show_at_their_multiples)
{
    // 20 poles and 15 slots: 60 a turn. The third multiple comes near twice the mains and is still the steps'.
    DwDrive drive;
    dw_drive_init(&drive, DW_DRIVE_DIRECT);
    drive.direct_poles = 20;
    drive.slots = 15;
    drive.mains_hz = 50;
    DwRate rates[DW_RATES_MOST];
    size_t count = dw_drive_rates(&drive, 60 * 0.5559, rates);
    DwTraceLine lines[5];
    DwTraceFinding findings[5];
    for (size_t h = 1; h <= 5; h++)
        lines[h - 1] = (DwTraceLine){60 * 0.5559 * (double)h, 0.0002, 0.06 / (double)(h * h)};
    dw_trace_lines(lines, 5, rates, count, 60, NAN, findings);
    for (size_t i = 0; i < 5; i++) {
        ck_assert_msg(findings[i].suspects[0].part == DW_PART_POLE, "line %zu: %s", i, words(&findings[i]));
        ck_assert_double_gt(findings[i].suspects[0].confidence, 0.7);
    }
}
END_TEST

START_TEST(without_a_description_nothing_is_guessed)
{
    DwTraceFinding finding = trace_one(NULL, 0, 0.5556, 60);
    ck_assert_str_eq(words(&finding), "unknown");
    ck_assert_double_eq_tol(finding.confidence, 1, 1e-12);
}
END_TEST

DW_SUITE("trace", the_tenth_multiple_of_a_belt_is_the_belts, the_multiples_of_a_first_belt_are_its_own,
         what_lies_far_off_a_part_is_not_its, the_mains_shows_at_twice_its_frequency, each_part_is_named_at_its_rate,
         belt_and_platter_need_their_time, rates_that_coincide_are_never_told_apart,
         lines_that_were_parted_do_not_blend, a_row_of_multiples_is_one_parts,
         a_row_tells_the_turn_of_a_belt_of_doubtful_length, a_motors_row_is_not_the_belts, what_is_believed_ascends,
         a_row_that_may_be_either_s_is_not_nobody_s, what_stands_about_a_strong_line_is_its_part,
         another_parts_row_does_not_support_it, beside_a_line_that_wanders_it_is_its_part, shares_are_of_power,
         a_high_harmonic_alone_is_not_the_platters, a_stray_line_does_not_throw_out_a_parts_own,
         a_beat_of_unknown_slip_takes_no_stray_line, a_beat_follows_the_motors_own_line, steps_show_at_their_multiples,
         noise_of_a_band_names_no_part, a_tacho_is_not_mistaken_for_high_multiples_of_steps,
         without_a_description_nothing_is_guessed)
