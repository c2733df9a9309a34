// SPDX-License-Identifier: MIT
#include "measure/band/tracking.h"

#include "base/memory.h"
#include "measure/band/record_tolerance.h"
#include "measure/band/tracking_steps.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

static const double LOWEST_TONE_HZ = 200, HIGHEST_TONE_HZ = 1500;
static const double WIDEST_SPEED = 1.4; // 45 for 33⅓
static const double SMOOTHING_S = 0.04;
static const double ONE_SIDED_PERCENT = 20; // of asymmetry, from where on a channel distorts alone
static const double FORCE_STEP_G = 0.25;    // a maker's manual: 0.25 to 0.5 g

DwBandSet *dw_tracking_new_set(double tone_hz, bool timed)
{
    bool stated = isfinite(tone_hz);
    DwSynchronousSettings like = {
        .lowest_hz = stated ? tone_hz / WIDEST_SPEED : LOWEST_TONE_HZ,
        .highest_hz = stated ? tone_hz * WIDEST_SPEED : HIGHEST_TONE_HZ,
        .smoothing_s = SMOOTHING_S,
        .components = dw_tracking_components,
        .component_count = DW_TRACKING_COMPONENTS,
    };
    return dw_band_set_new(
        like, (DwBandRule){.split_db = timed ? DW_TRACKING_WHOLE_SPLIT_DB : 0.4, .least_s = 1.2, .moments = true});
}

typedef struct {
    const DwTrackingSettings *settings;
    DwTrackingRun *runs;
    size_t run_count;
    size_t passed[2]; // in the worst run
    size_t worst;
    unsigned channels;
    const char *lost[2]; // why a channel tells nothing; NULL where it does
    const char *unit;
    int digits;
    DwSheet *sheet;
} Work;

static double limit_of(const Work *work)
{
    return work->settings->limit_percent / 100;
}

static bool any_found(const DwTrackingRun *run)
{
    for (size_t i = 0; i < run->count; i++)
        if (run->step[i].found)
            return true;
    return false;
}

// Whether CHANNEL is there and tells how it tracks.
static bool is_sound(const Work *work, size_t channel)
{
    return channel < work->channels && !work->lost[channel];
}

// How many steps of RUN the sound channels pass together.
static size_t passed_together(const Work *work, const DwTrackingRun *run)
{
    size_t sum = 0;
    for (size_t c = 0; c < 2; c++)
        sum += is_sound(work, c) ? dw_tracking_steps_passed(run, c, limit_of(work)) : 0;
    return sum;
}

// Where one channel gives next to nothing in a step, or comes and goes, the other rules: what is read from the first is
// noise and gaps.
static void find_lost(Work *work, DwBandSet *set)
{
    static const char *const nothing[2] = {"The left channel gives next to nothing.",
                                           "The right channel gives next to nothing."},
                             *const breaking[2] = {"The left channel comes and goes.",
                                                   "The right channel comes and goes."};
    bool breaks[2], quiet[2] = {false, false};
    if (work->channels < 2)
        return;
    dw_band_set_breaks(set, breaks);
    for (size_t r = 0; r < work->run_count; r++)
        for (size_t i = 0; i < work->runs[r].count; i++)
            for (size_t c = 0; c < 2; c++)
                quiet[c] |= dw_tracking_steps_is_quiet(&work->runs[r].step[i], c);
    for (size_t c = 0; c < 2; c++)
        if (quiet[c] != quiet[1 - c] ? quiet[c] : breaks[c] && !breaks[1 - c])
            work->lost[c] = breaks[c] ? breaking[c] : nothing[c];
}

static void choose_worst(Work *work)
{
    size_t least = SIZE_MAX;
    for (size_t r = 0; r < work->run_count; r++) {
        size_t passed = passed_together(work, &work->runs[r]);
        if (!any_found(&work->runs[r]) || passed >= least)
            continue;
        least = passed;
        work->worst = r;
        for (size_t c = 0; c < 2; c++)
            work->passed[c] = dw_tracking_steps_passed(&work->runs[r], c < work->channels ? c : 0, limit_of(work));
    }
}

// The first step that a sound channel fails, or the highest found.
static const DwTrackingResult *onset(const Work *work)
{
    const DwTrackingRun *run = &work->runs[work->worst];
    const DwTrackingResult *last = NULL;
    for (size_t i = 0; i < run->count; i++) {
        if (!run->step[i].found)
            continue;
        last = &run->step[i];
        if ((is_sound(work, 0) && last->worst[0] > limit_of(work)) ||
            (is_sound(work, 1) && last->worst[1] > limit_of(work)))
            break;
    }
    return last;
}

// Whether CHANNEL is sound and fails a step that was found.
static bool fails_any(const Work *work, size_t channel)
{
    const DwTrackingRun *run = &work->runs[work->worst];
    for (size_t i = work->passed[channel]; i < run->count && is_sound(work, channel); i++)
        if (run->step[i].found)
            return true;
    return false;
}

// The step above those that CHANNEL passes that was not found and may be passed too; NULL where the next one fails or
// none is left.
static const DwTrackingResult *unknown_step(const Work *work, size_t channel)
{
    const DwTrackingRun *run = &work->runs[work->worst];
    size_t next = work->passed[channel];
    return next < run->count && !run->step[next].found ? &run->step[next] : NULL;
}

// How far the record's own step of LEVEL may lie off what is stated, 95 %, in its unit.
static double step_off(const Work *work, double level)
{
    double off_db = dw_record_tolerance_level_db();
    return work->settings->in_decibels ? off_db : level * (pow(10, off_db / 20) - 1);
}

static void add_passed(const Work *work, size_t channel, const char *key, const char *label)
{
    const DwTrackingRun *run = &work->runs[work->worst];
    if (work->passed[channel] == 0) {
        dw_sheet_not_measured(work->sheet, key, "Even the lowest step found distorts by more than %g %%.",
                              work->settings->limit_percent);
        return;
    }
    const DwTrackingResult *step = &run->step[work->passed[channel] - 1];
    DwReading *reading =
        dw_sheet_add_estimate(work->sheet, key, label, step->level, work->unit, work->digits,
                              step_off(work, step->level), "highest step without more distortion than tracking.limit");
    reading->flags |= step->clipped[channel] ? DW_FLAG_CLIPPED : 0;
    reading->flags |= run->matched_by_level || run->too_many || unknown_step(work, channel) ? DW_FLAG_APPROXIMATE : 0;
    if (step->floor[channel] > limit_of(work))
        reading->flags |= DW_FLAG_NOISY;
}

static double asymmetry(const Work *work)
{
    const DwTrackingResult *step = onset(work);
    double left = step->worst[0], right = step->worst[1];
    return left + right > 0 ? 100 * (right - left) / (right + left) : 0;
}

// Why nothing is known of the record's SIDE (0 left); NULL where it was heard.
static const char *why_not_heard(const Work *work, size_t side)
{
    switch (work->channels == 1 ? work->settings->heard : DW_TRACKING_HEARD_ANY) {
    case DW_TRACKING_HEARD_LEFT:
        return side ? "The right channel comes and goes." : NULL;
    case DW_TRACKING_HEARD_RIGHT:
        return side ? NULL : "The left channel comes and goes.";
    case DW_TRACKING_HEARD_ANY:
        return work->channels == 1 ? "Only one channel was heard. Record both." : work->lost[side];
    }
    return NULL;
}

static void add_asymmetry(const Work *work)
{
    for (size_t side = 0; side < 2; side++)
        if (why_not_heard(work, side)) {
            dw_sheet_not_measured(work->sheet, "tracking.asymmetry", "%s", why_not_heard(work, side));
            return;
        }
    if (!fails_any(work, 0) && !fails_any(work, 1)) {
        dw_sheet_not_measured(work->sheet, "tracking.asymmetry", "Every step found is passed.");
        return;
    }
    const DwTrackingResult *step = onset(work);
    const double *worst = step->worst, *off = step->uncertainty;
    double spread = 2 * hypot(worst[0] * off[1], worst[1] * off[0]) / pow(worst[0] + worst[1], 2);
    dw_sheet_add_estimate(work->sheet, "tracking.asymmetry", "Right's distortion over left's at its onset",
                          asymmetry(work), "%", 0, 100 * spread,
                          "(right − left)/(right + left) at the first step failed");
}

// Which tops of the wave, as recorded, a step that fails flattens.
static const char *side_word(const Work *work, const DwTrackingResult *step, size_t channel)
{
    if (step->worst[channel] <= limit_of(work))
        return "";
    return step->side[channel] > 0 ? "the upper" : step->side[channel] < 0 ? "the lower" : "both";
}

// The peak velocity of a displacement of LEVEL µm; NAN where levels are in dB.
static double velocity_of(const Work *work, double level, double hz)
{
    return work->settings->in_decibels ? NAN : 2 * M_PI * hz * level * 1e-4;
}

// Where the worst moments of a channel pass the limit, between the last step passed and the first failed.
static void add_onset(const Work *work, size_t channel, const char *key, const char *label)
{
    const DwTrackingRun *run = &work->runs[work->worst];
    const DwTrackingResult *below = NULL, *above = NULL;
    for (size_t i = 0; i < run->count && !above; i++) {
        if (!run->step[i].found)
            continue;
        if (run->step[i].worst[channel] > limit_of(work))
            above = &run->step[i];
        else
            below = &run->step[i];
    }
    if (!above || !below) {
        dw_sheet_not_measured(work->sheet, key,
                              above ? "Even the lowest step found distorts too much." : "Every step found is passed.");
        return;
    }
    double low = fmax(below->worst[channel], 1e-4),
           share = log(limit_of(work) / low) / log(above->worst[channel] / low);
    double step = above->level - below->level;
    DwReading *reading = dw_sheet_add_estimate(work->sheet, key, label, below->level + share * step, work->unit, 1,
                                               hypot(step / 2, step_off(work, above->level)),
                                               "where the worst moments pass tracking.limit, between two steps");
    reading->flags |= run->matched_by_level || run->too_many ? DW_FLAG_APPROXIMATE : 0;
    if (!work->settings->in_decibels)
        dw_sheet_remark(
            work->sheet,
            "%s: between %g µm (%.1f cm/s peak) and %g µm (%.1f cm/s). There %s tops of the wave, as recorded, "
            "are flattened: %.1f %% of distortion at worst, %.1f %% on average.",
            label, below->level, velocity_of(work, below->level, below->frequency_hz), above->level,
            velocity_of(work, above->level, above->frequency_hz), side_word(work, above, channel),
            100 * above->worst[channel], 100 * above->distortion[channel]);
}

static void add_table(const Work *work)
{
    char *level = dw_memory_text(work->settings->in_decibels ? "level|Step|dB|1" : "level|Step|um|0");
    const char *const columns[] = {"recording|Recording||0",
                                   "radius|Radius|mm|0",
                                   level,
                                   "start|From|s|1",
                                   "left|Distortion, left|%|2",
                                   "right|Distortion, right|%|2",
                                   "floor|Noise would give|%|2",
                                   "left_worst|Worst moment, left|%|2",
                                   "right_worst|Worst moment, right|%|2",
                                   "left_side|Flattened, left||",
                                   "right_side|Flattened, right||",
                                   "velocity|Peak velocity|cm/s|1",
                                   NULL};
    DwTable *table = dw_sheet_add_table(work->sheet, "tracking.steps", "Distortion by step", columns);
    for (size_t r = 0; r < work->run_count; r++)
        for (size_t i = 0; i < work->runs[r].count; i++) {
            const DwTrackingResult *step = &work->runs[r].step[i];
            size_t row = dw_table_add_row(table);
            dw_table_set_number(table, row, 0, (double)r + 1);
            if (r < work->settings->radius_count)
                dw_table_set_number(table, row, 1, work->settings->radius_mm[r]);
            dw_table_set_number(table, row, 2, step->level);
            if (!step->found)
                continue;
            dw_table_set_number(table, row, 3, step->start_s);
            double noise = 0;
            for (size_t c = 0; c < 2; c++) {
                size_t shown = work->channels == 1 && work->settings->heard == DW_TRACKING_HEARD_RIGHT ? 1 : c;
                if (!is_sound(work, c))
                    continue;
                dw_table_set_number(table, row, 4 + shown, 100 * step->distortion[c]);
                dw_table_set_number(table, row, 7 + shown, 100 * step->worst[c]);
                dw_table_set_word(table, row, 9 + shown, side_word(work, step, c));
                noise = fmax(noise, step->floor[c]);
            }
            dw_table_set_number(table, row, 11, velocity_of(work, step->level, step->frequency_hz));
            dw_table_set_number(table, row, 6, 100 * noise);
        }
    free(level);
}

// Distortion over level, of the worst recording.
static void add_curve(const Work *work, size_t channel, const char *key, const char *label)
{
    const DwTrackingRun *run = &work->runs[work->worst];
    size_t count = 0;
    for (size_t i = 0; i < run->count; i++)
        count += i == 0 || run->step[i].level > run->step[i - 1].level;
    if (count < 2 || count < run->count)
        return;
    DwCurve *curve = dw_sheet_add_curve(work->sheet, key, label, (DwAxis){"Step", (char *)work->unit},
                                        (DwAxis){"Distortion", "%"}, count);
    for (size_t i = 0; i < count; i++) {
        curve->x_values[i] = run->step[i].level;
        curve->y_values[i] = run->step[i].found ? 100 * run->step[i].distortion[channel] : NAN;
    }
}

static void add_curves(const Work *work)
{
    bool right = work->settings->heard == DW_TRACKING_HEARD_RIGHT;
    if (work->channels == 1 && work->settings->heard == DW_TRACKING_HEARD_ANY)
        add_curve(work, 0, "tracking.mono", "Distortion");
    if (work->channels > 1 ? is_sound(work, 0) : work->settings->heard == DW_TRACKING_HEARD_LEFT)
        add_curve(work, 0, "tracking.left", "Distortion, left");
    if (work->channels > 1 ? is_sound(work, 1) : right)
        add_curve(work, work->channels - 1, "tracking.right", "Distortion, right");
}

// --- what to change ------------------------------------------------------------------

static void advise_force(const Work *work)
{
    double force = work->settings->force_g, high = work->settings->force_high_g;
    if (isnan(force) || isnan(high))
        dw_sheet_remark(work->sheet,
                        "Both channels distort together: raise the tracking force by %.2f g within the maker's range "
                        "and measure again. Give force.reading and force.high to see how far it may go.",
                        FORCE_STEP_G);
    else if (force + FORCE_STEP_G <= high)
        dw_sheet_remark(
            work->sheet,
            "Both channels distort together: raise the tracking force from %.2f to %.2f g (the maker allows "
            "%.2f g) and measure again.",
            force, force + FORCE_STEP_G, high);
    else
        dw_sheet_remark(work->sheet,
                        "Both channels distort together and the force of %.2f g leaves no room under the maker's "
                        "%.2f g: look at the tip, the suspension, dirt and the arm's friction.",
                        force, high);
}

// One channel gives out first: the wall that the stylus leaves. RIGHT is the outer wall.
static void advise_side(const Work *work, bool right)
{
    const char *wall = right ? "right channel (outer wall)" : "left channel (inner wall)";
    const char *what = right ? "raise" : "lower", *other = right ? "lower" : "raise";
    switch (work->settings->sides) {
    case DW_TRACKING_SIDES_TAKEN:
        dw_sheet_remark(work->sheet,
                        "The %s distorts first: %s the anti-skating force, provided the leads are not swapped. The "
                        "one-sided bands (channels) show whether they are.",
                        wall, what);
        break;
    case DW_TRACKING_SIDES_KNOWN:
        dw_sheet_remark(work->sheet, "The %s distorts first: %s the anti-skating force.", wall, what);
        break;
    case DW_TRACKING_SIDES_SWAPPED:
        dw_sheet_remark(work->sheet,
                        "The record's %s distorts first. If the leads are swapped, %s the anti-skating force; if it is "
                        "the plan that has left and right exchanged, %s it. Settle that first: play a record whose "
                        "sides are known.",
                        wall, what, other);
        break;
    }
}

static void advise(const Work *work)
{
    bool left_fails = fails_any(work, 0), right_fails = fails_any(work, 1);
    if (!left_fails && !right_fails) {
        dw_sheet_remark(work->sheet, "Every step found is passed; the limit of tracking lies higher.");
        return;
    }
    if (work->channels < 2 || work->lost[0] || work->lost[1]) {
        dw_sheet_remark(work->sheet,
                        work->channels < 2 && work->settings->heard == DW_TRACKING_HEARD_ANY
                            ? "One channel alone does not tell force from anti-skating: record both."
                            : "One channel alone does not tell force from anti-skating: mend the other and measure "
                              "again.");
        return;
    }
    // That one channel still passes what the other fails says little where both lie close to the limit.
    double uneven = asymmetry(work);
    if (fabs(uneven) > ONE_SIDED_PERCENT)
        advise_side(work, uneven > 0);
    else
        advise_force(work);
}

// The same steps at several radii: what fails only inside is not the force.
static void compare_radii(const Work *work)
{
    if (work->run_count < 2)
        return;
    if (work->settings->radius_count < work->run_count) {
        dw_sheet_not_measured(work->sheet, "tracking.radii", "Give tracking.radius once for each recording.");
        return;
    }
    size_t outer = 0, inner = 0;
    const double *radius = work->settings->radius_mm;
    for (size_t r = 1; r < work->run_count; r++) {
        outer = radius[r] > radius[outer] ? r : outer;
        inner = radius[r] < radius[inner] ? r : inner;
    }
    size_t outside = passed_together(work, &work->runs[outer]), inside = passed_together(work, &work->runs[inner]);
    bool fails = fails_any(work, 0) || fails_any(work, 1);
    dw_sheet_add_word(work->sheet, "tracking.radii", "Across the radii",
                      inside < outside   ? "worse inside"
                      : inside > outside ? "worse outside"
                                         : "even");
    if (inside < outside)
        dw_sheet_remark(work->sheet,
                        "What passes at %.0f mm fails at %.0f mm: look at alignment and tip (wear, "
                        "position, dirt) before the force.",
                        radius[outer], radius[inner]);
    else if (inside == outside && fails)
        dw_sheet_remark(work->sheet,
                        "The steps fail alike at all radii: force and anti-skating, not alignment or tip.");
    else if (fails)
        dw_sheet_remark(work->sheet,
                        "It tracks worse outside than inside: look at a warp, the arm's friction and leads, "
                        "and alignment at the outer null.");
}

static void note_missing(const Work *work)
{
    for (size_t r = 0; r < work->run_count; r++) {
        const DwTrackingRun *run = &work->runs[r];
        for (size_t i = 0; i < run->count; i++)
            if (!run->step[i].found)
                dw_sheet_not_measured(work->sheet, "tracking.steps",
                                      "Recording %zu holds no steady tone for the step of %g %s.", r + 1,
                                      run->step[i].level, work->unit);
        if (run->left_over)
            dw_sheet_remark(work->sheet, "Recording %zu: %zu stretches of tone are no step and were left out.", r + 1,
                            run->left_over);
        if (run->too_many)
            dw_sheet_remark(
                work->sheet,
                "Recording %zu has more stretches of the tone than levels were given; the shorter ones were "
                "left out, and may be what mistracks. Give tracking.step to be sure.",
                r + 1);
        else if (run->matched_by_level)
            dw_sheet_remark(work->sheet,
                            "Recording %zu has fewer bands than levels were given; which is which was told "
                            "by loudness. Give tracking.step to be sure.",
                            r + 1);
    }
}

static const char *const passed_keys[2] = {"tracking.passed_left", "tracking.passed_right"},
                         *const onset_keys[2] = {"tracking.onset_left", "tracking.onset_right"};

// What one channel passes, or why that is not known.
static void add_channel(const Work *work, size_t side)
{
    static const char *const passed[2] = {"Highest step passed, left", "Highest step passed, right"},
                             *const begins[2] = {"Onset of mistracking, left", "Onset of mistracking, right"};
    size_t channel = work->channels == 1 ? 0 : side;
    const char *why = why_not_heard(work, side);
    if (why) {
        dw_sheet_not_measured(work->sheet, passed_keys[side], "%s", why);
        return;
    }
    add_passed(work, channel, passed_keys[side], passed[side]);
    add_onset(work, channel, onset_keys[side], begins[side]);
}

// Whether the steps of any recording could not be told from each other.
static bool is_unplaced(const Work *work)
{
    for (size_t r = 0; r < work->run_count; r++)
        if (work->runs[r].unplaced)
            return true;
    return false;
}

// Says why nothing is told that hangs on which step is which.
static void withhold(const Work *work)
{
    bool mono = work->channels == 1 && work->settings->heard == DW_TRACKING_HEARD_ANY;
    const char *const keys[] = {mono ? "tracking.passed_mono" : passed_keys[0], "tracking.asymmetry", passed_keys[1]};
    for (size_t i = 0; i < (mono ? 2 : 3); i++)
        dw_sheet_not_measured(work->sheet, keys[i],
                              "Which step is which cannot be told: steps that distort are quieter than cleaner ones. "
                              "Give each step its second, as in tracking.step=50um:12s.");
}

static void add_channels(const Work *work)
{
    if (work->channels == 1 && work->settings->heard == DW_TRACKING_HEARD_ANY) {
        add_passed(work, 0, "tracking.passed_mono", "Highest step passed");
        add_onset(work, 0, "tracking.onset_mono", "Onset of mistracking");
    }
    add_channel(work, 0);
    add_channel(work, 1);
    const DwTrackingResult *unknown = NULL;
    for (size_t c = 0; c < 2; c++)
        if (is_sound(work, c) && unknown_step(work, c) && (!unknown || unknown_step(work, c)->level < unknown->level))
            unknown = unknown_step(work, c);
    if (unknown)
        dw_sheet_remark(work->sheet,
                        "The step of %g %s was not heard whole and may be passed too: the highest step passed is the "
                        "least that is known.",
                        unknown->level, work->unit);
}

static DwStatus report(Work *work, DwMessage *message)
{
    choose_worst(work);
    if (work->worst == SIZE_MAX)
        return dw_fail(
            message, DW_BAD_INPUT,
            "No steady tone of at least 1.2 s was found. Record the bands of rising level (300 or 315 Hz), or "
            "give record.tone.");
    if (is_unplaced(work)) {
        withhold(work);
        note_missing(work);
        add_table(work);
        return DW_OK;
    }
    add_channels(work);
    add_asymmetry(work);
    compare_radii(work);
    advise(work);
    note_missing(work);
    add_table(work);
    add_curves(work);
    return DW_OK;
}

DwStatus dw_tracking_read(DwBandSet *set, const DwTrackingSettings *settings, DwSheet *sheet, DwMessage *message)
{
    DwStatus status = dw_band_set_check(set, message);
    if (status != DW_OK)
        return status;
    bool in_decibels = settings->in_decibels || (!settings->step_count && !settings->level_count);
    DwTrackingSettings own = *settings;
    own.in_decibels = in_decibels;
    Work work = {.settings = &own,
                 .run_count = dw_band_set_recordings(set),
                 .worst = SIZE_MAX,
                 .channels = dw_band_set_channels(set),
                 .unit = in_decibels ? "dB" : "um",
                 .digits = in_decibels ? 1 : 0,
                 .sheet = sheet};
    work.runs = dw_memory_new(work.run_count + 1, sizeof *work.runs);
    for (size_t r = 0; r < work.run_count; r++)
        work.runs[r] = dw_tracking_steps_of(set, r, &own);
    find_lost(&work, set);
    if (!settings->step_count && !settings->level_count)
        dw_sheet_remark(sheet, "No levels were given: steps are counted in dB above the quietest found.");
    status = report(&work, message);
    free(work.runs);
    return status;
}
