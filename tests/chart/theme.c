// SPDX-License-Identifier: MIT
#include "chart/draw/theme.h"
#include "support/suite.h"

#include <math.h>

static const DwTheme themes[] = {DW_THEME_LIGHT, DW_THEME_DARK, DW_THEME_PAPER};

// Source (published): Björn Ottosson, "A perceptual color space for image processing", 2020, table
// of XYZ and Oklab pairs to three decimals; values from memory.
START_TEST(oklab_agrees_with_its_article)
{
    static const struct {
        double x, y, z, lightness, a, b;
    } pairs[] = {{0.950, 1.000, 1.089, 1.000, 0.000, 0.000},
                 {1.000, 0.000, 0.000, 0.450, 1.236, -0.019},
                 {0.000, 1.000, 0.000, 0.922, -0.671, 0.263},
                 {0.000, 0.000, 1.000, 0.153, -1.415, -0.449}};
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        DwOklab oklab = dw_oklab_from_xyz(pairs[i].x, pairs[i].y, pairs[i].z);
        ck_assert_double_eq_tol(oklab.lightness, pairs[i].lightness, 0.0006);
        ck_assert_double_eq_tol(oklab.a, pairs[i].a, 0.0006);
        ck_assert_double_eq_tol(oklab.b, pairs[i].b, 0.0006);
    }
}
END_TEST

// The sRGB and the XYZ route are two sets of constants; the matrix between them. Source (published): IEC 61966-2-1's
// (from memory, four digits).
START_TEST(both_routes_into_oklab_agree_and_return)
{
    for (int i = 0; i < 125; i++) {
        DwColour colour = {i % 5 / 4.0, i / 5 % 5 / 4.0, i / 25 / 4.0};
        double red = dw_oklab_linear(colour.red), green = dw_oklab_linear(colour.green);
        double blue = dw_oklab_linear(colour.blue);
        DwOklab one = dw_oklab_from_colour(colour);
        DwOklab other = dw_oklab_from_xyz(0.4124 * red + 0.3576 * green + 0.1805 * blue,
                                          0.2126 * red + 0.7152 * green + 0.0722 * blue,
                                          0.0193 * red + 0.1192 * green + 0.9505 * blue);
        ck_assert_double_eq_tol(one.lightness, other.lightness, 0.002);
        ck_assert_double_eq_tol(one.a, other.a, 0.002);
        ck_assert_double_eq_tol(one.b, other.b, 0.002);
        DwColour again = dw_oklab_to_colour(one);
        ck_assert_double_eq_tol(again.red, colour.red, 1e-5);
        ck_assert_double_eq_tol(again.green, colour.green, 1e-5);
        ck_assert_double_eq_tol(again.blue, colour.blue, 1e-5);
    }
}
END_TEST

START_TEST(deviation_scale_is_even_and_symmetric_in_lightness)
{
    for (size_t t = 0; t < 3; t++) {
        double before = dw_oklab_from_colour(dw_theme_deviation_colour(themes[t], 0)).lightness;
        double step = dw_oklab_from_colour(dw_theme_deviation_colour(themes[t], 0.05)).lightness - before;
        ck_assert_double_gt(fabs(step), 0.02);
        for (int i = 1; i <= 20; i++) {
            DwColour above = dw_theme_deviation_colour(themes[t], i / 20.0);
            DwColour below = dw_theme_deviation_colour(themes[t], -i / 20.0);
            double lightness = dw_oklab_from_colour(above).lightness;
            ck_assert_double_eq_tol(lightness, dw_oklab_from_colour(below).lightness, 1e-5);
            ck_assert_double_eq_tol(lightness - before, step, 1e-5);
            before = lightness;
            const double parts[] = {above.red, above.green, above.blue, below.red, below.green, below.blue};
            for (size_t p = 0; p < 6; p++)
                ck_assert(parts[p] >= 0 && parts[p] <= 1); // sRGB can show it
        }
    }
}
END_TEST

// What a dichromat sees, in linear light. Source (memory): Viénot, Brettel and Mollon, "Digital
// video colourmaps for checking the legibility of displays by dichromats",
// Color Research and Application 24, 1999 (matrices from memory).
static DwOklab seen_by(DwColour colour, double red_share, double red_in_blue)
{
    double red = dw_oklab_linear(colour.red), green = dw_oklab_linear(colour.green);
    double yellow = red_share * red + (1 - red_share) * green;
    double blue = dw_oklab_linear(colour.blue) + red_in_blue * (red - green);
    return dw_oklab_from_xyz(0.7700 * yellow + 0.1805 * blue, 0.9278 * yellow + 0.0722 * blue,
                             0.1385 * yellow + 0.9505 * blue);
}

START_TEST(colour_blind_eyes_tell_slow_from_fast)
{
    static const double kinds[][2] = {{0.11238, 0.00401}, {0.29275, -0.02234}}; // no long, no middle cones
    for (size_t t = 0; t < 3; t++)
        for (size_t k = 0; k < 2; k++) {
            DwOklab slow = seen_by(dw_theme_deviation_colour(themes[t], -1), kinds[k][0], kinds[k][1]);
            DwOklab fast = seen_by(dw_theme_deviation_colour(themes[t], 1), kinds[k][0], kinds[k][1]);
            // Several times 0.02, about what can just be told apart.
            ck_assert_double_gt(hypot(slow.a - fast.a, slow.b - fast.b), 0.1);
        }
}
END_TEST

// Source (published): WCAG 2.1 (W3C, 2018): 4.5 for text, 3 for marks; black on white is 21, and
// #767676 on white is the lightest grey that passes for text.
START_TEST(inks_have_contrast)
{
    DwColour white = {1, 1, 1}, black = {0, 0, 0}, grey = {0x76 / 255.0, 0x76 / 255.0, 0x76 / 255.0};
    ck_assert_double_eq_tol(dw_theme_contrast(white, black), 21, 1e-6);
    ck_assert_double_eq_tol(dw_theme_contrast(grey, white), 4.54, 0.005);
    static const DwInk text[] = {DW_INK_TEXT, DW_INK_QUIET, DW_INK_ACCENT, DW_INK_ATTENTION, DW_INK_UNSAFE};
    for (size_t t = 0; t < 3; t++) {
        DwColour ground = dw_theme_colour(themes[t], DW_INK_GROUND);
        for (size_t i = 0; i < sizeof text / sizeof *text; i++)
            ck_assert_double_ge(dw_theme_contrast(dw_theme_colour(themes[t], text[i]), ground), 4.5);
        for (DwVerdict verdict = DW_VERDICT_GOOD; verdict <= DW_VERDICT_NOT_TESTED; verdict++)
            ck_assert_double_ge(dw_theme_contrast(dw_theme_colour(themes[t], dw_theme_verdict_ink(verdict)), ground),
                                3);
        for (int sign = -1; sign <= 1; sign += 2)
            ck_assert_double_ge(dw_theme_contrast(dw_theme_deviation_colour(themes[t], sign), ground), 3);
    }
}
END_TEST

DW_SUITE("theme", oklab_agrees_with_its_article, both_routes_into_oklab_agree_and_return,
         deviation_scale_is_even_and_symmetric_in_lightness, colour_blind_eyes_tell_slow_from_fast, inks_have_contrast)
