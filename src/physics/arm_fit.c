// SPDX-License-Identifier: MIT
#include "physics/arm_fit.h"

#include "physics/chance.h"

#include <assert.h>
#include <gsl/gsl_linalg.h>
#include <math.h>

static const double degree = M_PI / 180;
static const double least_overhang_mm = -40, most_overhang_mm = 60;
static const double common_radius_mm = 90;      // where an overhang is told as an angle
static const double least_deviation_deg = 0.01; // no eye sees less
static const double least_deviation_mm = 1e-4, least_turn_deg = 1e-5;
static const double expected_mm = 3, expected_deg = 2; // of the arm about the expected one
static const double agree = 0.99;
static const double as_good = 6; // of χ²: what is not so much worse explains as well

enum { DISTANCE, LENGTH, OFFSET, TURN, PARAMETERS };

// Where a search stands: the arm, and how the paper of the arc lies.
typedef struct {
    DwArm arm;
    double turn_deg;
} Guess;

// One observation: what is left of it, and how that goes with the parameters, over its deviation.
typedef struct {
    double rest, slope[PARAMETERS];
    double rest_deg;
} Observation;

// The change of the tracking error with the radius [deg/mm].
static double error_per_radius(const DwArm *arm, double radius_mm)
{
    double sine = sin(dw_arm_tracking_angle(arm, radius_mm) * degree);
    return (1 / arm->effective_length_mm - sine / radius_mm) / sqrt(1 - sine * sine) / degree;
}

// How well READING is known on ARM; NAN where ARM does not reach it.
static double deviation_of(const DwArmReading *reading, const DwArm *arm)
{
    if (reading->kind == DW_ARM_READ_OVERHANG || reading->kind == DW_ARM_READ_ARC)
        return fmax(reading->value_deviation, least_deviation_mm);
    if (!dw_arm_reaches(arm, reading->radius_mm))
        return NAN;
    double by_radius = error_per_radius(arm, reading->radius_mm) * reading->radius_deviation_mm;
    return fmax(hypot(by_radius, reading->value_deviation), least_deviation_deg);
}

static Guess stepped(const Guess *from, const double step[PARAMETERS], double share)
{
    return (Guess){{from->arm.pivot_to_spindle_mm + share * step[DISTANCE],
                    from->arm.effective_length_mm + share * step[LENGTH], from->arm.offset_deg + share * step[OFFSET]},
                   from->turn_deg + share * step[TURN]};
}

static double arc_miss(const DwArmReading *reading, const DwArmPrior *prior, const Guess *guess)
{
    return dw_arm_arc_miss(&guess->arm, &prior->drawn, guess->turn_deg, reading->radius_mm);
}

// The slopes are taken by small steps to both sides.
static bool observe_arc(const DwArmReading *reading, double deviation, const DwArmPrior *prior, const Guess *guess,
                        Observation *seen)
{
    const double small = 1e-4;
    double rest = reading->value - arc_miss(reading, prior, guess);
    *seen = (Observation){rest / deviation, {0}, rest * dw_arm_error_per_length(&guess->arm, common_radius_mm)};
    for (int i = 0; i < PARAMETERS; i++) {
        double step[PARAMETERS] = {0};
        step[i] = small;
        Guess more = stepped(guess, step, 1), less = stepped(guess, step, -1);
        seen->slope[i] = (arc_miss(reading, prior, &more) - arc_miss(reading, prior, &less)) / (2 * small) / deviation;
    }
    return isfinite(rest) && isfinite(seen->slope[DISTANCE]) && isfinite(seen->slope[LENGTH]);
}

static bool observe(const DwArmReading *reading, double deviation, const DwArmPrior *prior, const Guess *guess,
                    Observation *seen)
{
    const DwArm *arm = &guess->arm;
    if (reading->kind == DW_ARM_READ_ARC)
        return observe_arc(reading, deviation, prior, guess, seen);
    if (reading->kind == DW_ARM_READ_OVERHANG) {
        double rest = reading->value - dw_arm_overhang(arm);
        *seen = (Observation){rest / deviation, {-1 / deviation, 1 / deviation}, NAN};
        seen->rest_deg = rest * dw_arm_error_per_length(arm, common_radius_mm);
        return true;
    }
    if (!dw_arm_reaches(arm, reading->radius_mm))
        return false;
    double rest = reading->value - dw_arm_tracking_error(arm, reading->radius_mm);
    *seen = (Observation){rest / deviation,
                          {dw_arm_error_per_distance(arm, reading->radius_mm) / deviation,
                           dw_arm_error_per_length(arm, reading->radius_mm) / deviation, -1 / deviation},
                          rest};
    return true;
}

// What is added besides the readings: the distance as measured, how the arc's
// paper was laid and, with EXPECTED, the arm as one expects it.
static size_t observe_prior(const DwArmPrior *prior, bool expected, const Guess *guess, Observation *seen)
{
    const DwArm *arm = &guess->arm;
    double deviation = fmax(prior->distance_deviation_mm, least_deviation_mm);
    double turn = fmax(prior->turn_deviation_deg, least_turn_deg);
    seen[0] =
        (Observation){(prior->arm.pivot_to_spindle_mm - arm->pivot_to_spindle_mm) / deviation, {1 / deviation}, 0};
    seen[1] = (Observation){-guess->turn_deg / turn, {0, 0, 0, 1 / turn}, 0};
    if (!expected)
        return 2;
    double overhang = dw_arm_overhang(&prior->arm) - dw_arm_overhang(arm);
    seen[2] = (Observation){overhang / expected_mm, {-1 / expected_mm, 1 / expected_mm}, 0};
    seen[3] = (Observation){(prior->arm.offset_deg - arm->offset_deg) / expected_deg, {0, 0, 1 / expected_deg}, 0};
    return 4;
}

typedef struct {
    const DwArmReading *readings;
    size_t count;
    size_t left_out; // its index; COUNT for none
    const DwArmPrior *prior;
    bool expected;
    double deviations[DW_ARM_FIT_MOST]; // of the readings, held while a search goes on
} Task;

// All observations at GUESS; false where its arm does not reach one of them.
static bool observe_all(const Task *task, const Guess *guess, Observation *seen, size_t *seen_count)
{
    size_t count = 0;
    for (size_t i = 0; i < task->count; i++)
        if (i != task->left_out &&
            !observe(&task->readings[i], task->deviations[i], task->prior, guess, &seen[count++]))
            return false;
    *seen_count = count + observe_prior(task->prior, task->expected, guess, seen + count);
    return true;
}

static double sum_of_squares(const Observation *seen, size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += seen[i].rest * seen[i].rest;
    return sum;
}

// The step to the least sum, and the covariance; false when nothing fixes the arm.
static bool solve(const Observation *seen, size_t count, double step[PARAMETERS], double covariance[3][3])
{
    double normal[PARAMETERS * PARAMETERS] = {0}, right[PARAMETERS] = {0};
    for (size_t k = 0; k < count; k++)
        for (int i = 0; i < PARAMETERS; i++) {
            right[i] += seen[k].slope[i] * seen[k].rest;
            for (int j = 0; j < PARAMETERS; j++)
                normal[i * PARAMETERS + j] += seen[k].slope[i] * seen[k].slope[j];
        }
    gsl_matrix_view matrix = gsl_matrix_view_array(normal, PARAMETERS, PARAMETERS);
    gsl_vector_view vector = gsl_vector_view_array(right, PARAMETERS);
    if (gsl_linalg_cholesky_decomp1(&matrix.matrix) || gsl_linalg_cholesky_svx(&matrix.matrix, &vector.vector) ||
        gsl_linalg_cholesky_invert(&matrix.matrix))
        return false;
    for (int i = 0; i < PARAMETERS; i++)
        step[i] = right[i];
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            covariance[i][j] = normal[i * PARAMETERS + j];
    return true;
}

enum { OBSERVATIONS_MOST = DW_ARM_FIT_MOST + 4 };

// Goes from *GUESS to the least sum of squares.
static bool descend(const Task *task, Guess *guess, double covariance[3][3])
{
    Observation seen[OBSERVATIONS_MOST];
    size_t count;
    double left = INFINITY; // of the last step
    if (!observe_all(task, guess, seen, &count))
        return false;
    for (int round = 0; round < 60 && left > 1e-11; round++) {
        double step[PARAMETERS], had = sum_of_squares(seen, count);
        if (!solve(seen, count, step, covariance))
            return false;
        left = fabs(step[DISTANCE]) + fabs(step[LENGTH]) + fabs(step[OFFSET]) + fabs(step[TURN]);
        double share = 1;
        for (; share > 1e-6; share /= 2) {
            Guess next = stepped(guess, step, share);
            if (observe_all(task, &next, seen, &count) && sum_of_squares(seen, count) <= had * (1 + 1e-9) + 1e-18) {
                *guess = next;
                break;
            }
        }
        if (share <= 1e-6)
            break;
    }
    // A search that came to the edge of an arm's reach has found none.
    return left < 1e-5;
}

// The least sum from the prior's arm; the deviations follow the arm found.
static bool find(Task *task, Guess *guess, double covariance[3][3], double *sum)
{
    Observation seen[OBSERVATIONS_MOST];
    size_t count;
    *guess = (Guess){task->prior->arm, 0};
    for (int pass = 0; pass < 4; pass++) {
        for (size_t i = 0; i < task->count; i++) {
            task->deviations[i] = deviation_of(&task->readings[i], &guess->arm);
            if (i != task->left_out && isnan(task->deviations[i]))
                return false;
        }
        if (!descend(task, guess, covariance))
            return false;
    }
    if (!observe_all(task, guess, seen, &count))
        return false;
    double overhang = dw_arm_overhang(&guess->arm);
    *sum = sum_of_squares(seen, count);
    return overhang > least_overhang_mm && overhang < most_overhang_mm;
}

bool dw_arm_fit(const DwArmReading *readings, size_t count, const DwArmPrior *prior, DwArmFit *fit)
{
    assert(count >= 2 && count <= DW_ARM_FIT_MOST);
    Task task = {readings, count, count, prior, false, {0}};
    DwArmFit found = {.freedom = (int)count - 2, .residual_deg = NAN};
    Guess guess;
    if (!find(&task, &guess, found.covariance, &found.chi_square))
        return false;
    found.arm = guess.arm;
    double squares = 0;
    for (size_t i = 0; i < count; i++) {
        Observation seen;
        if (!observe(&readings[i], task.deviations[i], prior, &guess, &seen))
            return false;
        squares += seen.rest_deg * seen.rest_deg;
    }
    if (found.freedom > 0)
        found.residual_deg = sqrt(squares / found.freedom);
    *fit = found;
    return true;
}

DwArm dw_arm_fit_at(const DwArmFit *fit, const double z[3])
{
    double factor[3][3] = {{0}}, step[3] = {0};
    for (int i = 0; i < 3; i++)
        for (int j = 0; j <= i; j++) {
            double left = fit->covariance[i][j];
            for (int k = 0; k < j; k++)
                left -= factor[i][k] * factor[j][k];
            if (i == j)
                factor[i][i] = sqrt(fmax(0, left));
            else
                factor[i][j] = factor[j][j] > 0 ? left / factor[j][j] : 0;
            step[i] += factor[i][j] * z[j];
        }
    return (DwArm){fit->arm.pivot_to_spindle_mm + step[DISTANCE], fit->arm.effective_length_mm + step[LENGTH],
                   fit->arm.offset_deg + step[OFFSET]};
}

// The sum that is left without the reading LEFT_OUT, the arm as expected counting a little.
static double sum_without(const DwArmReading *readings, size_t count, size_t left_out, const DwArmPrior *prior,
                          DwArm *arm)
{
    Task task = {readings, count, left_out, prior, true, {0}};
    double covariance[3][3], sum;
    Guess guess;
    bool fits = find(&task, &guess, covariance, &sum);
    *arm = guess.arm;
    return fits ? sum : INFINITY;
}

// The sum with the sign of the reading INDEX turned.
static double sum_with_other_sign(const DwArmReading *readings, size_t count, size_t index, const DwArmPrior *prior,
                                  DwArm *arm)
{
    DwArmReading turned[DW_ARM_FIT_MOST];
    for (size_t i = 0; i < count; i++)
        turned[i] = readings[i];
    turned[index].value = -turned[index].value;
    return sum_without(turned, count, count, prior, arm);
}

// The reading left out of which the least sum is left.
static void find_suspect(const DwArmReading *readings, size_t count, const DwArmPrior *prior, double limit,
                         DwArmDoubt *doubt)
{
    double sums[DW_ARM_FIT_MOST], least = INFINITY, second = INFINITY;
    for (size_t i = 0; i < count; i++) {
        DwArm arm;
        sums[i] = sum_without(readings, count, i, prior, &arm);
        if (sums[i] < least) {
            least = sums[i];
            doubt->suspect = i;
            doubt->without = arm;
        }
    }
    for (size_t i = 0; i < count; i++)
        if (i != doubt->suspect && sums[i] < second) {
            second = sums[i];
            doubt->second = i;
        }
    doubt->rest_agree = least < limit;
    doubt->has_second = second < limit && second < least + as_good;
}

// A slip of the sign is the likeliest of all: where turning one back makes
// everything agree, that reading is the one.
static void find_turned(const DwArmReading *readings, size_t count, const DwArmPrior *prior, double limit,
                        DwArmDoubt *doubt)
{
    double least = limit;
    for (size_t i = 0; i < count; i++) {
        DwArm arm;
        bool has_sign = readings[i].kind == DW_ARM_READ_ERROR || readings[i].kind == DW_ARM_READ_ARC;
        if (!has_sign || readings[i].value == 0)
            continue;
        double sum = sum_with_other_sign(readings, count, i, prior, &arm);
        if (sum >= least)
            continue;
        least = sum;
        if (!doubt->other_sign && i != doubt->suspect && doubt->rest_agree) {
            doubt->second = doubt->suspect;
            doubt->has_second = true;
        } else if (doubt->second == i)
            doubt->has_second = false;
        doubt->suspect = i;
        doubt->other_sign = doubt->rest_agree = true;
        doubt->without = arm;
    }
}

// Whoever counts angles the other way turns every one.
static bool agree_all_turned(const DwArmReading *readings, size_t count, const DwArmPrior *prior, double limit)
{
    DwArmReading turned[DW_ARM_FIT_MOST];
    size_t angles = 0;
    for (size_t i = 0; i < count; i++) {
        turned[i] = readings[i];
        if (readings[i].kind != DW_ARM_READ_ERROR || readings[i].value == 0)
            continue;
        turned[i].value = -turned[i].value;
        angles++;
    }
    DwArm arm;
    return angles > 1 && sum_without(turned, count, count, prior, &arm) < limit;
}

DwArmDoubt dw_arm_fit_doubt(const DwArmReading *readings, size_t count, const DwArmPrior *prior, const DwArmFit *fit)
{
    DwArmDoubt doubt = {.doubtful = false};
    int freedom = (int)count - 2;
    // Two readings fit some arm always: then one that nobody expects is the doubt.
    DwArm arm;
    double all = !fit ? INFINITY : freedom > 0 ? fit->chi_square : sum_without(readings, count, count, prior, &arm);
    if (all <= dw_chance_chi_square(agree, freedom > 0 ? freedom : 2))
        return doubt;
    doubt.doubtful = true;
    double limit = dw_chance_chi_square(agree, freedom + 1);
    find_suspect(readings, count, prior, limit, &doubt);
    find_turned(readings, count, prior, limit, &doubt);
    doubt.all_turned = agree_all_turned(readings, count, prior, limit);
    return doubt;
}
