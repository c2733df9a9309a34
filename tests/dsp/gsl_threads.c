// SPDX-License-Identifier: MIT
// Fits that have no answer are tried by many threads at once: the library's own handler,
// which aborts, must be off in every program from the start and stay off.
#include "dsp/fit.h"
#include "dsp/resonance_fit.h"
#include "support/suite.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_sf_bessel.h>
#include <pthread.h>

enum { THREADS = 8, TRIES = 20000, POINTS = 12 };

START_TEST(the_handler_is_off_before_anything_is_asked)
{
    gsl_sf_result result;
    ck_assert_int_eq(gsl_sf_bessel_K0_e(-1, &result), GSL_EDOM);
}
END_TEST

// All but the middle point weigh nothing: the normal equations are singular.
static void *fit_nothing(void *argument)
{
    size_t *wrong = argument;
    double time[POINTS], value[POINTS], weight[POINTS] = {0};
    for (int i = 0; i < POINTS; i++) {
        time[i] = i - POINTS / 2;
        value[i] = i;
    }
    weight[POINTS / 2] = 1;
    for (int i = 0; i < TRIES; i++) {
        DwHarmonicFit fit = dw_fit_harmonics(time, value, weight, POINTS, 0.3, 2);
        *wrong += fit.level != 0 || fit.slope != 0;
    }
    return NULL;
}

START_TEST(fits_without_an_answer_are_no_end_for_many_threads)
{
    pthread_t threads[THREADS];
    size_t wrong[THREADS] = {0};
    for (int i = 0; i < THREADS; i++)
        ck_assert_int_eq(pthread_create(&threads[i], NULL, fit_nothing, &wrong[i]), 0);
    for (int i = 0; i < THREADS; i++) {
        pthread_join(threads[i], NULL);
        ck_assert_uint_eq(wrong[i], 0);
    }
}
END_TEST

START_TEST(the_handler_is_off_after_all)
{
    DwResonancePoint points[8] = {0};
    DwResonanceFit fit;
    ck_assert(!dw_resonance_fit(points, 8, 1, &fit));
    gsl_sf_result result;
    ck_assert_int_eq(gsl_sf_bessel_K0_e(-1, &result), GSL_EDOM);
}
END_TEST

DW_SUITE("gsl threads", fits_without_an_answer_are_no_end_for_many_threads, the_handler_is_off_before_anything_is_asked,
         the_handler_is_off_after_all)
