// SPDX-License-Identifier: MIT
#include "measure/music/held_analysis.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

static const double RANGE = 0.04;        // of the nominal rate, that the turn is looked for within
static const double CHANCE = 0.0005;     // that nothing shows as much: more is not called found
static const double LEAST_HELD_S = 4;    // of held notes
static const double SHAKEN = 0.45;       // of the partials that stand still or shake: most notes
static const double SHAKEN_LEAST = 0.25; // of all: fewer are notes that slide
static const double LIMIT_LEAST = 0.001; // %: what is told to three places
static const double LIMIT_SHARE = 0.84;  // one side's 95 % point over both sides'
static const double PART_HIGHEST_HZ = 5, RATE_REACH = 3, RATE_LEAST = 0.002;
enum { COURSES_MOST = 6000 };

DwHeld *dw_held_new(DwHeldSettings settings)
{
    DwHeld *held = dw_memory_new(1, sizeof *held);
    held->settings = settings;
    held->take = dw_music_take_new(settings.rate_hz, settings.channels);
    return held;
}

void dw_held_free(DwHeld *held)
{
    if (!held)
        return;
    for (size_t j = 0; j < held->fit.count; j++)
        dw_partial_course_clear(&held->fit.courses[j]);
    free(held->fit.courses);
    free(held->moment);
    dw_music_take_free(held->take);
    free(held);
}

void dw_held_push(DwHeld *held, const float *interleaved, size_t frames)
{
    dw_music_take_push(held->take, interleaved, frames);
}

bool dw_held_line_is_found(const DwHeldLine *line)
{
    return line->chance < CHANCE;
}

static int louder_first(const void *a, const void *b)
{
    const DwPartial *first = a, *second = b;
    return (first->level < second->level) - (first->level > second->level);
}

static int earlier_first(const void *a, const void *b)
{
    const DwPartialCourse *first = a, *second = b;
    if (first->first_s != second->first_s)
        return first->first_s < second->first_s ? -1 : 1;
    return (first->mean_hz > second->mean_hz) - (first->mean_hz < second->mean_hz);
}

static void follow_partials(DwHeld *held)
{
    const float *samples = dw_music_take_samples(held->take);
    size_t count = dw_music_take_count(held->take);
    double rate_hz = dw_music_take_rate_hz(held->take);
    DwPartials partials = dw_partials_find(samples, count, rate_hz);
    if (partials.count > COURSES_MOST)
        qsort(partials.partial, partials.count, sizeof *partials.partial, louder_first);
    size_t most = partials.count < COURSES_MOST ? partials.count : (size_t)COURSES_MOST;
    held->fit.courses = dw_memory_new(most + 1, sizeof *held->fit.courses);
    for (size_t i = 0; i < most; i++) {
        DwPartialCourse course = dw_partial_course_follow(&partials, &partials.partial[i], samples, count, rate_hz);
        if (course.count == 0)
            continue;
        held->fit.courses[held->fit.count++] = course;
    }
    dw_partials_clear(&partials);
    held->length_s = (double)count / rate_hz;
    dw_held_leave_out_hum(held);
    for (size_t j = 0; j < held->fit.count; j++)
        held->vibrati += held->fit.courses[j].vibrato_hz > 0;
    if (held->fit.count)
        qsort(held->fit.courses, held->fit.count, sizeof *held->fit.courses, earlier_first);
    held->fit.notes = dw_partial_course_name_notes(held->fit.courses, held->fit.count);
}

static void find_span(DwHeldFit *fit)
{
    fit->from_s = INFINITY;
    fit->to_s = -INFINITY;
    for (size_t j = 0; j < fit->count; j++) {
        const DwPartialCourse *course = &fit->courses[j];
        fit->from_s = fmin(fit->from_s, course->first_s);
        fit->to_s = fmax(fit->to_s, course->first_s + (double)course->count * course->step_s);
    }
}

// The parts of the drive that turn slowly enough to be followed, with the rates at which they are looked for.
static void add_parts(DwHeld *held, double turn_hz, double reach)
{
    DwRate rates[DW_RATES_MOST];
    size_t count = dw_drive_rates(&held->settings.drive, turn_hz * 60, rates);
    for (size_t i = 0; i < count && held->parts < DW_HELD_PARTS_MOST; i++) {
        bool own = rates[i].part == DW_PART_BELT || rates[i].part == DW_PART_IDLER || rates[i].part == DW_PART_MOTOR;
        if (!own || rates[i].what || rates[i].turn || rates[i].rate_hz > PART_HIGHEST_HZ)
            continue;
        double off =
            fmax(RATE_REACH * rates[i].uncertainty_hz, RATE_LEAST * rates[i].rate_hz) + reach * rates[i].rate_hz;
        held->part[held->parts++] = (DwHeldPart){rates[i].part};
        held->fit.line[held->fit.lines++] =
            (DwHeldLine){.low_hz = rates[i].rate_hz - off, .high_hz = rates[i].rate_hz + off};
    }
}

// Lines that are common to all and neither the turn's nor a described part's: they would stand in the way of both.
static void add_others(DwHeld *held)
{
    static const double range[3][2] = {{0.35, 0.92}, {1.09, 1.9}, {2.1, 8}}; // times a turn
    DwHeldFit *fit = &held->fit;
    double turn_hz = fit->line[0].rate_hz, length_s = fmax(fit->to_s - fit->from_s, 1);
    for (size_t k = 0; k < sizeof range / sizeof *range && fit->lines < DW_HELD_LINES_MOST; k++) {
        double low_hz = range[k][0] * turn_hz, high_hz = fmin(range[k][1] * turn_hz, PART_HIGHEST_HZ);
        double rate_hz = dw_held_other_rate(held, low_hz, high_hz), beside_hz = 0.5 / length_s;
        DwHeldLine *line = &fit->line[fit->lines];
        *line = (DwHeldLine){.low_hz = rate_hz - beside_hz, .high_hz = rate_hz + beside_hz};
        held->part[held->parts] = (DwHeldPart){DW_PART_UNKNOWN};
        fit->lines++;
        held->parts++;
        dw_held_fit_run(fit, false);
        line->chance = fmin(1, line->chance / line->tried * (1 + 2 * (high_hz - low_hz) * length_s));
        line->tried = 1;
        if (!dw_held_line_is_found(line)) {
            fit->lines--;
            held->parts--;
        }
        line->low_hz = line->rate_hz - beside_hz / 2; // found beside what was not in place yet
        line->high_hz = line->rate_hz + beside_hz / 2;
    }
}

static void fit_lines(DwHeld *held)
{
    DwHeldFit *fit = &held->fit;
    double nominal_hz = held->settings.speed_rpm / 60;
    fit->line[0] = (DwHeldLine){.low_hz = nominal_hz * (1 - RANGE), .high_hz = nominal_hz * (1 + RANGE)};
    fit->lines = 2;
    dw_held_fit_run(fit, false);
    held->found = dw_held_line_is_found(&fit->line[0]);
    if (held->settings.drive_given)
        add_parts(held, held->found ? fit->line[0].rate_hz : nominal_hz, held->found ? 0 : RANGE);
    add_others(held);
    dw_held_fit_run(fit, true);
    held->found = dw_held_line_is_found(&fit->line[0]);
}

void dw_held_finish(DwHeld *held)
{
    dw_music_take_finish(held->take);
    follow_partials(held);
    if (held->fit.count == 0)
        return;
    find_span(&held->fit);
    dw_held_moments_find(held);
    if (held->held_s < LEAST_HELD_S)
        return;
    fit_lines(held);
    held->limit = fmax(LIMIT_LEAST, held->fit.line[0].amplitude + LIMIT_SHARE * held->fit.line[0].widest_off);
    dw_held_steady_find(held);
    dw_held_turn_find(held);
    dw_held_tuning_find(held);
}

static DwStatus refuse(const DwHeld *held, DwMessage *message)
{
    double from_s = held->settings.skip_s, to_s = from_s + held->length_s;
    if (!dw_music_take_finite(held->take))
        return dw_fail(message, DW_BAD_INPUT,
                       "The recording holds samples that are no numbers. Record it again, or save it as 24-bit WAV.");
    if (held->fit.count == 0 && held->hum_hz > 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "Only hum of the mains is held between %.1f and %.1f s, at %.0f Hz and its multiples. Look for "
                       "the earth lead, and record slow music.",
                       from_s, to_s, held->hum_hz);
    if (held->fit.count == 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "No note is held for a second between %.1f and %.1f s. Choose slow music: organ, strings, piano "
                       "chords that ring.",
                       from_s, to_s);
    if (held->held_s < LEAST_HELD_S)
        return dw_fail(message, DW_BAD_INPUT,
                       "Held notes sound for %.1f s only between %.1f and %.1f s; %.0f s are needed, and 10 s make it "
                       "good. Record more, or slower music.",
                       held->held_s, from_s, to_s, LEAST_HELD_S);
    if ((double)held->vibrati > SHAKEN * (double)(held->vibrati + held->steady) &&
        (double)held->vibrati > SHAKEN_LEAST * (double)held->fit.count)
        return dw_fail(
            message, DW_BAD_INPUT,
            "Nearly all notes between %.1f and %.1f s are held with vibrato, which cannot be told from a deck "
            "that is unsteady. Choose organ, piano or other instruments that do not shake.",
            from_s, to_s);
    if (held->steady_s < LEAST_HELD_S)
        return dw_fail(
            message, DW_BAD_INPUT,
            "Notes slide or bend between %.1f and %.1f s: steady ones are held for %.1f s only, and %.0f s are "
            "needed. Choose organ, piano or other instruments whose pitch stands still.",
            from_s, to_s, held->steady_s, LEAST_HELD_S);
    return DW_OK;
}

DwStatus dw_held_read(const DwHeld *held, DwSheet *sheet, DwMessage *message)
{
    DwStatus status = refuse(held, message);
    if (status == DW_OK)
        dw_held_sheet_fill(held, sheet);
    return status;
}
