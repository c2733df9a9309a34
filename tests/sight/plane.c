// SPDX-License-Identifier: MIT
#include "sight/plane.h"

#include "support/suite.h"

#include <math.h>

static const DwPlane slanted = {0.9, -0.3, 12, 0.25, 1.1, -7, 0.0011, -0.0004};

START_TEST(fit_finds_the_map_again)
{
    DwPoint from[9], to[9];
    DwPlane found;
    for (int i = 0; i < 9; i++) {
        from[i] = (DwPoint){40 * (i % 3) - 30, 55 * (i / 3) - 60};
        to[i] = dw_plane_map(&slanted, from[i]);
    }
    ck_assert(dw_plane_fit(from, to, 9, &found));
    ck_assert_double_eq_tol(found.a, slanted.a, 1e-9);
    ck_assert_double_eq_tol(found.f, slanted.f, 1e-7);
    ck_assert_double_eq_tol(found.g, slanted.g, 1e-11);

    ck_assert(!dw_plane_fit(from, to, 3, &found));
}
END_TEST

START_TEST(points_in_line_fit_no_map)
{
    DwPoint from[5], to[5];
    DwPlane found;
    for (int i = 0; i < 5; i++)
        from[i] = to[i] = (DwPoint){i, 2 * i};
    ck_assert(!dw_plane_fit(from, to, 5, &found));
}
END_TEST

START_TEST(inverse_undoes)
{
    DwPlane back;
    ck_assert(dw_plane_inverse(&slanted, &back));
    DwPoint here = {33, -21}, again = dw_plane_map(&back, dw_plane_map(&slanted, here));
    ck_assert_double_eq_tol(again.x, here.x, 1e-9);
    ck_assert_double_eq_tol(again.y, here.y, 1e-9);
}
END_TEST

START_TEST(turned_turns_first_and_clockwise)
{
    DwPlane turned = dw_plane_turned(&slanted, M_PI / 2);
    // A quarter turn clockwise, y running down, brings what points right to point down.
    DwPoint seen = dw_plane_map(&turned, (DwPoint){10, 0}), wanted = dw_plane_map(&slanted, (DwPoint){0, 10});
    ck_assert_double_eq_tol(seen.x, wanted.x, 1e-9);
    ck_assert_double_eq_tol(seen.y, wanted.y, 1e-9);
}
END_TEST

DW_SUITE("plane", fit_finds_the_map_again, points_in_line_fit_no_map, inverse_undoes, turned_turns_first_and_clockwise)
