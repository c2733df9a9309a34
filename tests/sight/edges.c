// SPDX-License-Identifier: MIT
#include "sight/edge_snap.h"
#include "sight/mark_edges.h"
#include "sight/outline.h"

#include "support/suite.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SIDE = 400, FINE = 8 };

static uint8_t pixels[SIDE * SIDE];
static const DwGrey grey = {SIDE, SIDE, SIDE, pixels};

typedef bool (*Dark)(double x, double y);

// Draws what DARK says, each pixel the mean of 64 places in it.
static void draw(Dark dark)
{
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++) {
            int count = 0;
            for (int part = 0; part < FINE * FINE; part++)
                count += dark(x + (part % FINE + 0.5) / FINE, y + (part / FINE + 0.5) / FINE);
            pixels[y * SIDE + x] = (uint8_t)(220 - 180.0 * count / (FINE * FINE));
        }
}

static const double angle = 0.31;

static bool in_square(double x, double y)
{
    double u = cos(angle) * (x - 200.3) + sin(angle) * (y - 190.7),
           v = -sin(angle) * (x - 200.3) + cos(angle) * (y - 190.7);
    return fabs(u) < 60 && fabs(v) < 60 && !(fabs(u) < 45 && fabs(v) < 45);
}

START_TEST(a_marks_corners_are_found_below_a_pixel)
{
    static const double signs[4][2] = {{-1, -1}, {1, -1}, {1, 1}, {-1, 1}};
    DwPoint wanted[4], corners[4];
    DwMarkEdges edges;
    draw(in_square);
    for (int i = 0; i < 4; i++) {
        double u = 60 * signs[i][0], v = 60 * signs[i][1];
        wanted[i] = (DwPoint){200.3 + cos(angle) * u - sin(angle) * v, 190.7 + sin(angle) * u + cos(angle) * v};
        corners[i] = (DwPoint){wanted[i].x + 1.5 * cos(i), wanted[i].y - 1.2 * sin(2 * i)};
    }
    ck_assert(dw_mark_edges_find(&grey, corners, 0.45, &edges));
    ck_assert(dw_mark_edges_corners(&edges, corners));
    for (int i = 0; i < 4; i++)
        ck_assert_double_lt(hypot(corners[i].x - wanted[i].x, corners[i].y - wanted[i].y), 0.05);
}
END_TEST

static bool in_bar(double x, double y)
{
    return fabs(sin(0.4) * (x - 200) - cos(0.4) * (y - 200)) < 4 && x < 330 && x > 60;
}

START_TEST(a_bars_middle_is_found)
{
    double c = cos(0.4), s = sin(0.4);
    DwTouchedLine touched = {
        {200 - 110 * c - 2.5, 200 - 110 * s + 1}, {200 + 110 * c + 1, 200 + 110 * s + 2.5}, 6, 14, 0, {0, 0}};
    DwSnapped snapped;
    draw(in_bar);
    ck_assert(dw_bar_snap(&grey, &touched, &snapped));
    ck_assert_double_lt(fabs(s * (snapped.from.x - 200) - c * (snapped.from.y - 200)), 0.15);
    ck_assert_double_lt(fabs(s * (snapped.to.x - 200) - c * (snapped.to.y - 200)), 0.15);
    memset(pixels, 220, sizeof pixels);
    ck_assert(!dw_bar_snap(&grey, &touched, &snapped));
}
END_TEST

// A grey strip between two lines at 0.4 rad, 40 pixels apart, over stripes that are darker than it, then lighter.
static void draw_tube_over_stripes(void)
{
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++) {
            double sum = 0;
            for (int part = 0; part < FINE * FINE; part++) {
                double u = x + (part % FINE + 0.5) / FINE, v = y + (part / FINE + 0.5) / FINE;
                bool on = fabs(sin(0.4) * (u - 200) - cos(0.4) * (v - 200)) < 20;
                sum += on ? 120 : fmod(u + 400, 60) < 30 ? 30 : 220;
            }
            pixels[y * SIDE + x] = (uint8_t)(sum / (FINE * FINE) + 0.5);
        }
}

static double off_line(DwPoint at, double middle)
{
    return fabs(cos(0.4) * (at.y - 200) - sin(0.4) * (at.x - 200) - middle);
}

START_TEST(an_edge_is_found_before_what_is_darker_here_and_lighter_there)
{
    double c = cos(0.4), s = sin(0.4);
    DwTouchedLine touched = {{200 - 140 * c + 20 * s + 2, 200 - 140 * s - 20 * c},
                             {200 + 140 * c + 20 * s, 200 + 140 * s - 20 * c + 2},
                             4,
                             0,
                             0,
                             {0, 0}};
    DwSnapped snapped;
    draw_tube_over_stripes();
    ck_assert(dw_edge_snap(&grey, &touched, &snapped));
    ck_assert_double_lt(off_line(snapped.from, -20), 0.2);
    ck_assert_double_lt(off_line(snapped.to, -20), 0.2);
    memset(pixels, 220, sizeof pixels);
    ck_assert(!dw_edge_snap(&grey, &touched, &snapped));
}
END_TEST

// A pixel's brightness as pictures are written, from its share of the light. Source (published): IEC
// 61966-2-1:1999, 5.2.
static uint8_t written(double light)
{
    return (uint8_t)(255 * (light <= 0.0031308 ? 12.92 * light : 1.055 * pow(light, 1 / 2.4) - 0.055) + 0.5);
}

// A thing of little light at 0.4 rad, before paper and, from its middle on, before ink that is darker still. The lens
// spreads the light over three pixels.
static void draw_edge_over_ink(void)
{
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++) {
            double sum = 0;
            for (int part = 0; part < FINE * FINE; part++) {
                double u = x - 1 + 3 * (part % FINE + 0.5) / FINE, v = y - 1 + 3 * (part / FINE + 0.5) / FINE;
                bool on = sin(0.4) * (u - 200) - cos(0.4) * (v - 200) < 20;
                sum += on ? 0.15 : cos(0.4) * (u - 200) + sin(0.4) * (v - 200) < 0 ? 0.75 : 0.03;
            }
            pixels[y * SIDE + x] = written(sum / (FINE * FINE));
        }
}

START_TEST(an_edge_does_not_turn_where_its_ground_turns_from_light_to_dark)
{
    double c = cos(0.4), s = sin(0.4);
    DwTouchedLine touched = {{200 - 140 * c + 20 * s, 200 - 140 * s - 20 * c},
                             {200 + 140 * c + 20 * s, 200 + 140 * s - 20 * c},
                             4,
                             0,
                             0,
                             {0, 0}};
    DwSnapped snapped;
    draw_edge_over_ink();
    ck_assert(dw_edge_snap(&grey, &touched, &snapped));
    ck_assert_double_lt(off_line(snapped.from, -20), 0.1);
    ck_assert_double_lt(off_line(snapped.to, -20), 0.1);
    ck_assert_double_lt(snapped.tilt_doubt, 0.15);
}
END_TEST

// Two faces of a dark thing, their edge at 0.4 rad, one of them seen so aslant that the paper follows 4 pixels on.
static void draw_edge_beside_outline(void)
{
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++) {
            double sum = 0;
            for (int part = 0; part < FINE * FINE; part++) {
                double u = x - 1 + 3 * (part % FINE + 0.5) / FINE, v = y - 1 + 3 * (part / FINE + 0.5) / FINE;
                double off = cos(0.4) * (v - 200) - sin(0.4) * (u - 200);
                sum += off < 0 ? 0.1 : off < 4 ? 0.05 : 0.75;
            }
            pixels[y * SIDE + x] = written(sum / (FINE * FINE));
        }
}

START_TEST(the_touched_edge_is_found_beside_a_steeper_one)
{
    double c = cos(0.4), s = sin(0.4);
    DwTouchedLine touched = {{200 - 140 * c, 200 - 140 * s}, {200 + 140 * c, 200 + 140 * s}, 3.5, 0, 0, {0, 0}};
    DwSnapped snapped;
    draw_edge_beside_outline();
    ck_assert(dw_edge_snap(&grey, &touched, &snapped));
    ck_assert_double_lt(off_line(snapped.from, 0), 0.5);
    ck_assert_double_lt(off_line(snapped.to, 0), 0.5);
}
END_TEST

START_TEST(both_sides_of_a_tube_are_found_and_told_apart)
{
    double c = cos(0.4), s = sin(0.4);
    DwTouchedLine touched = {
        {200 - 140 * c - 3, 200 - 140 * s + 3}, {200 + 140 * c + 2, 200 + 140 * s - 4}, 8, 56, 0, {0, 0}};
    DwSnapped sides[2];
    draw_tube_over_stripes();
    ck_assert(dw_tube_snap(&grey, &touched, sides));
    for (int i = 0; i < 2; i++) {
        ck_assert_double_lt(off_line(sides[i].from, i == 0 ? 20 : -20), 0.2);
        ck_assert_double_lt(off_line(sides[i].to, i == 0 ? 20 : -20), 0.2);
    }
    memset(pixels, 220, sizeof pixels);
    ck_assert(!dw_tube_snap(&grey, &touched, sides));
}
END_TEST

// A normal deviate by twelve even ones (central limit).
static double deviate(uint32_t *state)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        *state = *state * 1664525 +
                 1013904223; // Source (published): D. Knuth, The Art of Computer Programming, volume 2, 3.3.4, table 1
        sum += *state / 4294967296.0;
    }
    return sum;
}

enum { PARTS = 24 };

// A grey bar before paper, its middle line through (60, 60) + SHIFT across; HALVES are half its width [pixels] in parts
// along it. The lens spreads its edges over two pixels, and each pixel is off by NOISE.
static void draw_noisy_bar(double turn, double shift, const double *halves, double noise, uint32_t *state)
{
    double c = cos(turn), s = sin(turn);
    for (int y = 0; y < 120; y++)
        for (int x = 0; x < 120; x++) {
            double along = c * (x + 0.5 - 60) + s * (y + 0.5 - 60),
                   off = fabs(c * (y + 0.5 - 60) - s * (x + 0.5 - 60) - shift);
            double half = halves[(int)fmax(0, fmin(PARTS - 1, floor((along + 36) / 3)))];
            double share = fmax(0, fmin(1, (half - off) / 2 + 0.5)), bright = written(0.75 - 0.3 * share);
            pixels[y * SIDE + x] = (uint8_t)fmax(0, fmin(255, round(bright + noise * deviate(state))));
        }
}

START_TEST(the_doubt_of_a_bars_direction_holds_and_is_no_wider)
{
    enum { CASES = 400 };
    uint32_t state = 29;
    double tilts = 0, claimed = 0;
    int held = 0;
    for (int i = 0; i < CASES; i++) {
        double turn = 0.05 + 1.4 * i / CASES, c = cos(turn), s = sin(turn), shift = deviate(&state);
        double halves[PARTS], half = 4 + deviate(&state) / 2;
        for (int part = 0; part < PARTS; part++)
            halves[part] = half + 0.3 * deviate(&state);
        draw_noisy_bar(turn, shift, halves, 3 + 3.0 * i / CASES, &state);
        double from = deviate(&state), to = deviate(&state);
        DwTouchedLine touched = {{60 - 28 * c - from * s, 60 - 28 * s + from * c},
                                 {60 + 28 * c - to * s, 60 + 28 * s + to * c},
                                 5,
                                 11,
                                 0,
                                 {0, 0}};
        DwSnapped bar;
        ck_assert(dw_bar_snap(&grey, &touched, &bar));
        double tilt = c * (bar.to.y - bar.from.y) - s * (bar.to.x - bar.from.x);
        tilts += tilt * tilt;
        claimed += bar.tilt_doubt * bar.tilt_doubt;
        held += fabs(tilt) < 1.96 * bar.tilt_doubt;
    }
    printf("# held %d of %d, %.3f for %.3f\n", held, CASES, sqrt(claimed / CASES), sqrt(tilts / CASES));
    ck_assert_int_ge(held, 0.93 * CASES - 3 * sqrt(0.93 * 0.07 * CASES));
    ck_assert_double_lt(sqrt(claimed / tilts), 1.5); // few pieces' and the lens's share are in it, which is not drawn
}
END_TEST

// An edge across the picture, a stretch of it hidden by a flap whose own edge lies some pixels off and is turned a
// little.
static void draw_hidden_edge(double middle, double tilt, uint32_t *state)
{
    double share = 0.3 + 0.05 * fmin(2, fabs(deviate(state))), begin = 60 + 70 * fmin(1, fabs(deviate(state)));
    double end = begin + 280 * share, over = 1 + fmin(4, 2 * fabs(deviate(state))), turn = 0.025 * deviate(state);
    for (int y = 150; y < 250; y++)
        for (int x = 0; x < SIDE; x++) {
            double light = 0;
            for (int part = 0; part < FINE * FINE; part++) {
                double u = x + (part % FINE + 0.5) / FINE, v = y + (part / FINE + 0.5) / FINE;
                double line = middle + tilt * (u - 200), flap = line + over + turn * (u - (begin + end) / 2);
                light += u > begin && u < end && v < flap ? 0.2 : v > line ? 0.08 : 0.5;
            }
            pixels[y * SIDE + x] = written(light / (FINE * FINE) + 0.004 * deviate(state));
        }
}

START_TEST(the_doubt_of_an_edge_that_is_partly_hidden_holds)
{
    enum { DRAWN = 120 };
    int found = 0, held = 0;
    uint32_t state = 7;
    for (int i = 0; i < DRAWN; i++) {
        double middle = 200 + deviate(&state), tilt = 0.02 * deviate(&state);
        DwTouchedLine touched = {{60, middle - 140 * tilt + 0.8 * deviate(&state)},
                                 {340, middle + 140 * tilt + 0.8 * deviate(&state)},
                                 3.5,
                                 0,
                                 0,
                                 {0, 0}};
        DwSnapped snapped;
        draw_hidden_edge(middle, tilt, &state);
        if (!dw_edge_snap(&grey, &touched, &snapped))
            continue; // then the touch counts
        double from = snapped.from.y - middle - tilt * (snapped.from.x - 200),
               to = snapped.to.y - middle - tilt * (snapped.to.x - 200);
        found++;
        held += fabs(to - from) < 1.96 * snapped.tilt_doubt;
    }
    printf("# hidden: found %d of %d, held %d\n", found, DRAWN, held);
    ck_assert_int_gt(found, DRAWN / 6);
    ck_assert_int_ge(100 * held, 90 * found);
}
END_TEST

static bool in_ring(double x, double y)
{
    double r = hypot((x - 200) / 1.3, y - 200);
    return r > 110 && r < 122;
}

// A bar at 0.4 rad over thin black lines that run 0.13 rad beside it and come out from behind it, 3 pixels wide.
static void draw_bar_over_lines(uint32_t *state)
{
    double c = cos(0.4), s = sin(0.4), across[] = {-sin(0.53), cos(0.53)};
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++) {
            double light = 0;
            for (int part = 0; part < FINE * FINE; part++) {
                double u = x - 0.5 + 2 * (part % FINE + 0.5) / FINE - 200,
                       v = y - 0.5 + 2 * (part / FINE + 0.5) / FINE - 200;
                double line = fmod(across[0] * u + across[1] * v + 606, 24);
                light += fabs(c * v - s * u) < 6 ? 0.45 : line < 3 ? 0.1 : 0.75;
            }
            pixels[y * SIDE + x] = (uint8_t)fmin(255, written(light / (FINE * FINE)) + 2 * deviate(state));
        }
}

START_TEST(a_bars_direction_is_not_turned_by_printed_lines_behind_it)
{
    enum { CASES = 40 };
    uint32_t state = 31;
    int found = 0, held = 0;
    draw_bar_over_lines(&state);
    for (int i = 0; i < CASES; i++) {
        double c = cos(0.4), s = sin(0.4), at = -120 + 3.5 * i, from = deviate(&state), to = deviate(&state);
        DwTouchedLine touched = {{200 + at * c - from * s, 200 + at * s + from * c},
                                 {200 + (at + 90) * c - to * s, 200 + (at + 90) * s + to * c},
                                 5,
                                 16,
                                 3,
                                 {cos(0.53), sin(0.53)}};
        DwSnapped bar;
        if (!dw_bar_snap(&grey, &touched, &bar))
            continue;
        found++;
        double tilt = c * (bar.to.y - bar.from.y) - s * (bar.to.x - bar.from.x);
        held += fabs(tilt) < 1.96 * bar.tilt_doubt;
    }
    printf("# found %d of %d, held %d\n", found, CASES, held);
    ck_assert_int_ge(found, CASES / 2);
    ck_assert_int_ge(held, 0.93 * found - 3 * sqrt(0.93 * 0.07 * found));
}
END_TEST

START_TEST(a_rings_inside_is_traced)
{
    DwOutline outline;
    double length = 0;
    draw(in_ring);
    ck_assert(dw_outline_find(&grey, 100, &outline));
    for (size_t i = 0; i < outline.count; i++) {
        double r = hypot((outline.points[i].x - 200) / 1.3, outline.points[i].y - 200);
        ck_assert_double_eq_tol(r, 110, 0.3);
        size_t next = (i + 1) % outline.count;
        length += hypot(outline.points[next].x - outline.points[i].x, outline.points[next].y - outline.points[i].y);
    }
    // Source (published): Ramanujan's second formula for the ellipse's length (from memory).
    double a = 143, b = 110, h = (a - b) * (a - b) / ((a + b) * (a + b));
    double wanted = M_PI * (a + b) * (1 + 3 * h / (10 + sqrt(4 - 3 * h)));
    ck_assert_double_eq_tol(length, wanted, 0.004 * wanted);
    dw_outline_clear(&outline);
    memset(pixels, 220, sizeof pixels);
    ck_assert(!dw_outline_find(&grey, 100, &outline));
}
END_TEST

DW_SUITE("edges", a_marks_corners_are_found_below_a_pixel,
         an_edge_is_found_before_what_is_darker_here_and_lighter_there,
         an_edge_does_not_turn_where_its_ground_turns_from_light_to_dark,
         the_touched_edge_is_found_beside_a_steeper_one, a_bars_direction_is_not_turned_by_printed_lines_behind_it,
         a_rings_inside_is_traced, DW_FIGURES, a_bars_middle_is_found, both_sides_of_a_tube_are_found_and_told_apart,
         the_doubt_of_a_bars_direction_holds_and_is_no_wider, the_doubt_of_an_edge_that_is_partly_hidden_holds)
