// SPDX-License-Identifier: MIT
#include "chart/sheet/arm_plan.h"
#include "chart/sheet/arm_side.h"
#include "chart/sheet/sheet_picture.h"
#include "support/suite.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static DwSheet *sheet_of(double distance, double length, double offset)
{
    DwSheet *sheet = dw_sheet_new("align", "Alignment of arm and cartridge");
    dw_sheet_add_reading(sheet, "align.pivot_to_spindle", "Pivot to spindle", distance, "mm", 2);
    dw_sheet_add_reading(sheet, "align.effective_length", "Effective length", length, "mm", 2);
    dw_sheet_add_reading(sheet, "align.offset", "Offset", offset, "deg", 2);
    return sheet;
}

START_TEST(it_says_what_it_shows)
{
    DwSheet *sheet = sheet_of(222, 239.3, 22.99);
    ck_assert(dw_arm_plan_fits(sheet));
    char *words = dw_arm_plan_words(sheet);
    ck_assert_msg(strstr(words, "222.0 mm from the spindle") && strstr(words, "17.3 mm past the spindle"), "%s", words);
    ck_assert_ptr_null(strstr(words, "headshell"));
    free(words);
    dw_sheet_add_reading(sheet, "move.slide", "Slide", -1.2, "mm", 2);
    dw_sheet_add_reading(sheet, "move.twist", "Twist", 0.4, "deg", 2);
    words = dw_arm_plan_words(sheet);
    ck_assert_msg(strstr(words, "Back 1.2 mm. 0.4° inwards."), "%s", words);
    free(words);
    dw_sheet_free(sheet);
    sheet = sheet_of(242, 228.6, 0);
    words = dw_arm_plan_words(sheet);
    ck_assert_msg(strstr(words, "13.4 mm short of the spindle"), "%s", words);
    free(words);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(what_is_no_arm_has_no_picture)
{
    DwSheet *sheet = dw_sheet_new("align", "Alignment"), *far = sheet_of(222, 320, 20);
    ck_assert(!dw_arm_plan_fits(sheet));
    ck_assert(!dw_arm_plan_fits(far));
    dw_sheet_free(sheet);
    dw_sheet_free(far);
}
END_TEST

static cairo_surface_t *drawn(const DwSheet *sheet, int width, double height)
{
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, (int)height);
    DwCanvas canvas = {.cairo = cairo_create(surface), .theme = DW_THEME_LIGHT, .em = 16};
    dw_canvas_use(&canvas, DW_INK_GROUND);
    cairo_paint(canvas.cairo);
    dw_arm_plan_draw(&canvas, sheet, (DwBox){0, 0, width, height});
    cairo_destroy(canvas.cairo);
    cairo_surface_flush(surface);
    return surface;
}

// The picture is to scale: the ink of the line from spindle to pivot is 222 mm
// long where the whole width is 150.8 + 222 + 26 mm and the room beside a short arm.
START_TEST(it_is_drawn_to_scale)
{
    enum { WIDTH = 1600 };
    DwSheet *sheet = sheet_of(222, 239.3, 22.99);
    double height = dw_arm_plan_height(sheet, WIDTH, 16);
    cairo_surface_t *surface = drawn(sheet, WIDTH, height);
    // The witness lines of the dimension stand upright over spindle and pivot: the two darkest columns above them.
    const unsigned char *pixels = cairo_image_surface_get_data(surface);
    int stride = cairo_image_surface_get_stride(surface);
    double scale = height / 200;
    int row = (int)((40 - 10) * scale), first = -1, last = -1;
    for (int x = 0; x < WIDTH; x++) {
        bool dark = true;
        for (int y = row - 2; y <= row + 2; y++)
            dark = dark && pixels[y * stride + 4 * x + 1] < 205;
        if (dark && x > 150.8 * scale - 4) {
            if (first < 0)
                first = x;
            last = x;
        }
    }
    ck_assert_double_eq_tol(first, 150.8 * scale, 2);
    ck_assert_double_eq_tol(last, (150.8 + 222) * scale, 2);
    cairo_surface_destroy(surface);
    dw_sheet_free(sheet);
}
END_TEST

// On a phone the letters are large against the arm: none is cut at the picture's edges, where the record's line alone
// is.
START_TEST(nothing_is_cut_where_it_is_narrow)
{
    enum { WIDTH = 480 };
    DwSheet *sheet = sheet_of(222, 239.3, 22.99);
    int height = (int)dw_arm_plan_height(sheet, WIDTH, 16);
    cairo_surface_t *surface = drawn(sheet, WIDTH, height);
    const unsigned char *pixels = cairo_image_surface_get_data(surface);
    int stride = cairo_image_surface_get_stride(surface), dark = 0;
    for (int x = 0; x < WIDTH; x++)
        dark += pixels[4 * x + 1] < 170;
    for (int y = 0; y < height; y++)
        dark += pixels[y * stride + 4 * (WIDTH - 1) + 1] < 170;
    ck_assert_int_eq(dark, 0);
    cairo_surface_destroy(surface);
    dw_sheet_free(sheet);
}
END_TEST

// From the side: the thick end of the wedge is the one that its label names, and down is not up.
START_TEST(the_side_says_which_end_and_which_way)
{
    DwInputs *inputs = dw_inputs_new();
    ck_assert_int_eq(dw_inputs_set(inputs, "arm.effective_length", "230 mm", NULL), DW_OK);
    for (int down = 0; down < 2; down++) {
        DwSheet *sheet = dw_sheet_new("rake", "Rake and arm height");
        dw_sheet_add_input(sheet, inputs, dw_quantity_find("arm.effective_length"));
        dw_sheet_add_input(sheet, inputs, dw_quantity_find("rake.target"));
        ck_assert(!dw_arm_side_fits(sheet));
        dw_sheet_add_reading(sheet, "rake.angle", "Rake", down ? 93.5 : 90.5, "deg", 1);
        dw_sheet_add_reading(sheet, "rake.spacer", "Raise", down ? -6 : 6, "mm", 2);
        dw_sheet_add_reading(sheet, "rake.wedge",
                             down ? "A wedge, thicker at the pivot's end by" : "A wedge, thicker at the nose by", 0.37,
                             "mm", 2);
        ck_assert(dw_arm_side_fits(sheet) && !dw_arm_plan_fits(sheet));
        char *words = dw_arm_side_words(sheet);
        ck_assert_msg(strstr(words, down ? "Lower the arm's pivot by 6.0 mm" : "Raise the arm's pivot by 6.0 mm"), "%s",
                      words);
        ck_assert_msg(strstr(words, down ? "thicker at the pivot's end by" : "thicker at the nose by"), "%s", words);
        free(words);
        dw_sheet_free(sheet);
    }
    dw_inputs_free(inputs);
}
END_TEST

DW_SUITE("arm plan", it_says_what_it_shows, what_is_no_arm_has_no_picture, it_is_drawn_to_scale,
         nothing_is_cut_where_it_is_narrow, the_side_says_which_end_and_which_way)
