// SPDX-License-Identifier: MIT
// Source (published): points of distributions against printed tables (CRC Standard Mathematical Tables, 28th edition,
// "Probability and Statistics", from memory), the binomial against its own sum.
#include "physics/chance.h"
#include "support/suite.h"

#include <math.h>

START_TEST(points_are_those_of_the_tables)
{
    ck_assert_double_eq_tol(dw_chance_normal(0.975), 1.95996, 1e-5);
    ck_assert_double_eq_tol(dw_chance_normal(0.025), -1.95996, 1e-5);
    ck_assert_double_eq_tol(dw_chance_chi_square(0.95, 10), 18.307, 5e-4);
    ck_assert_double_eq_tol(dw_chance_chi_square(0.05, 10), 3.940, 5e-4);
    ck_assert_double_eq_tol(dw_chance_student(0.975, 10), 2.228, 5e-4);
    ck_assert_double_eq_tol(dw_chance_student(0.975, 1), 12.706, 5e-4);
}
END_TEST

START_TEST(so_many_hits_or_more_are_as_probable_as_their_sum)
{
    for (unsigned tries = 1; tries <= 12; tries++)
        for (unsigned hits = 0; hits <= tries; hits++) {
            double sum = 0, p = 0.3;
            for (unsigned k = hits; k <= tries; k++)
                sum +=
                    tgamma(tries + 1.0) / tgamma(k + 1.0) / tgamma(tries - k + 1.0) * pow(p, k) * pow(1 - p, tries - k);
            ck_assert_double_eq_tol(dw_chance_hits(hits, tries, p), sum, 1e-12);
        }
    ck_assert_double_eq_tol(dw_chance_hits(8, 10, 0.5), 56.0 / 1024, 1e-15);
    ck_assert_double_eq_tol(dw_chance_hits(3, 3, 1), 1, 1e-15);
}
END_TEST

DW_SUITE("chance", points_are_those_of_the_tables, so_many_hits_or_more_are_as_probable_as_their_sum)
