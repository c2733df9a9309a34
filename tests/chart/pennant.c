// SPDX-License-Identifier: MIT
#include "chart/draw/pennant.h"
#include "support/suite.h"

#include <math.h>
#include <stdint.h>

enum { COUNT = 12, LANES = 4 };

static double random_share(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (double)(*state >> 11) / 9007199254740992.0;
}

static double left_of(const DwPennant *p)
{
    return p->to_left ? p->x - p->width : p->x;
}

// Whatever the stems, no label lies on another and no stem passes through one.
START_TEST(labels_never_cover_each_other)
{
    uint64_t state = 11;
    size_t placed = 0;
    for (int run = 0; run < 300; run++) {
        DwPennant p[COUNT];
        for (size_t i = 0; i < COUNT; i++)
            p[i] = (DwPennant){.x = 1000 * random_share(&state), .width = 40 + 120 * random_share(&state)};
        dw_pennant_place(p, COUNT, 0, 1000, LANES, 4);
        ck_assert(p[0].placed); // the most important one always finds room
        for (size_t i = 0; i < COUNT; i++) {
            if (!p[i].placed)
                continue;
            placed++;
            ck_assert(left_of(&p[i]) >= 0 && left_of(&p[i]) + p[i].width <= 1000 && p[i].lane < LANES);
            for (size_t j = 0; j < COUNT; j++) {
                if (i == j || !p[j].placed)
                    continue;
                bool apart =
                    left_of(&p[i]) + p[i].width <= left_of(&p[j]) || left_of(&p[j]) + p[j].width <= left_of(&p[i]);
                ck_assert(apart || p[i].lane != p[j].lane);
                bool through = p[i].x > left_of(&p[j]) && p[i].x < left_of(&p[j]) + p[j].width;
                ck_assert(!through || p[i].lane < p[j].lane);
            }
        }
    }
    ck_assert_uint_gt(placed, 300 * COUNT * 2 / 3);
}
END_TEST

START_TEST(neighbours_fly_in_steps)
{
    DwPennant p[] = {
        {.x = 100, .width = 80}, {.x = 130, .width = 80}, {.x = 160, .width = 80}, {.x = 950, .width = 80}};
    dw_pennant_place(p, 4, 0, 1000, 4, 4);
    ck_assert(p[0].placed && p[1].placed && p[2].placed && p[3].placed);
    ck_assert(p[0].lane == 2 && p[1].lane == 1 && p[2].lane == 0);
    ck_assert(p[3].to_left);
}
END_TEST

START_TEST(heights_are_spread_and_keep_their_order)
{
    double heights[] = {50, 52, 51, 10, 99};
    dw_pennant_spread(heights, 5, 10, 0, 100);
    ck_assert(heights[3] < heights[0] && heights[0] < heights[2] && heights[2] < heights[1] && heights[1] < heights[4]);
    ck_assert_double_ge(heights[2] - heights[0], 10 - 1e-9);
    ck_assert_double_ge(heights[1] - heights[2], 10 - 1e-9);
    ck_assert_double_le(heights[4], 100);
    ck_assert_double_eq(heights[3], 10);
    double many[30] = {0};
    dw_pennant_spread(many, 30, 10, 0, 100); // no room for all: still apart
    for (size_t i = 1; i < 30; i++)
        ck_assert_double_ge(fabs(many[i] - many[i - 1]), 10 - 1e-9);
}
END_TEST

DW_SUITE("pennant", labels_never_cover_each_other, neighbours_fly_in_steps, heights_are_spread_and_keep_their_order)
