// SPDX-License-Identifier: MIT
#include "measure/music/held_analysis.h"

#include "base/usual_speed.h"

#include <math.h>
#include <string.h>

enum { MOMENTS_SHOWN = 24 };

// How much farther the phase at the start strays than vector and rate tell, which are found one after the other. By 178
// drawn pieces, of which 171 hold.
static const double PHASE_STRAYS = 1.15;
static const double GOOD_HELD_S = 10, SPREAD_MOST_CENTS = 25;

static DwReading *add_line(DwSheet *sheet, const char *key, const char *label, const DwHeldLine *line,
                           const char *method)
{
    return dw_sheet_add_estimate(sheet, key, label, line->amplitude, "% peak", 3, line->off, method);
}

// When the notes told what they told, about the fit's middle, by their weights [s]: the mean, and the spread about it.
static void find_when(const DwHeldFit *fit, double *mean_s, double *spread_s)
{
    double sum = 0, first = 0, second = 0;
    for (size_t j = 0; j < fit->count; j++)
        for (size_t i = 0; i < fit->courses[j].count; i++) {
            const DwPartialCourse *course = &fit->courses[j];
            double w = course->weight[i] / course->spread,
                   t = course->first_s + (double)i * course->step_s - fit->middle_s;
            sum += w;
            first += w * t;
            second += w * t * t;
        }
    *mean_s = first / sum;
    *spread_s = sqrt(fmax(0, second / sum - *mean_s * *mean_s));
}

// Of a cosine at the recording's start, as `speed` tells it.
static void add_phase(const DwHeld *held, DwSheet *sheet)
{
    const DwHeldLine *once = &held->fit.line[0];
    double lever_s = held->fit.middle_s + held->settings.skip_s, turns = once->rate_hz * lever_s, mean_s, spread_s;
    double phase = atan2(-once->vector.imaginary, once->vector.real) / (2 * M_PI) - turns;
    // The rate was found with the vector: what it is off by turns the start against when the notes were held.
    find_when(&held->fit, &mean_s, &spread_s);
    double off = PHASE_STRAYS * once->widest_off / once->amplitude,
           far = spread_s > 0 ? (lever_s + mean_s) / spread_s : 0;
    dw_sheet_add_estimate(sheet, "revolution.phase", "Its phase", 360 * (phase - floor(phase)), "deg", 0,
                          fmin(180, 180 / M_PI * off * sqrt(1 + far * far)), "of a cosine at the recording's start");
}

// A line that is no described part's and would be once a turn at another usual speed.
static const DwHeldLine *other_turn(const DwHeld *held, double *rpm)
{
    for (size_t i = 0; i < held->parts; i++) {
        const DwHeldLine *line = &held->fit.line[2 + i];
        *rpm = dw_usual_speed_other(line->rate_hz, held->settings.speed_rpm);
        if (held->part[i].part == DW_PART_UNKNOWN && isfinite(*rpm) && dw_held_line_is_found(line) &&
            line->amplitude > (held->found ? held->fit.line[0].amplitude : 0))
            return line;
    }
    return NULL;
}

static void ask_speed(const DwHeld *held, DwSheet *sheet)
{
    double rpm;
    const DwHeldLine *line = other_turn(held, &rpm);
    if (!line)
        return;
    for (size_t i = 0; i < sheet->reading_count; i++)
        sheet->readings[i].flags |= DW_FLAG_APPROXIMATE;
    dw_sheet_remark(sheet,
                    "%.1f times a minute all notes rise and fall together by %.2f %%: was the record played at %.4g "
                    "rpm? Then give deck.speed=%.4grpm. Once a revolution is looked for at %.4g rpm here.",
                    60 * line->rate_hz, line->amplitude, rpm, rpm, held->settings.speed_rpm);
}

static void add_turn(const DwHeld *held, DwSheet *sheet)
{
    const DwHeldLine *once = &held->fit.line[0], *twice = &held->fit.line[1];
    if (held->found) {
        DwReading *reading = add_line(sheet, "revolution.amplitude", "Once a revolution", once,
                                      "common to all held partials, locked to the turn");
        if (held->held_s < GOOD_HELD_S)
            reading->flags |= DW_FLAG_SHORT;
        add_phase(held, sheet);
    } else {
        dw_sheet_not_measured(sheet, "revolution.amplitude",
                              "nothing that is common to all notes comes once a turn; what there may be at most is "
                              "told instead.");
        dw_reading_set_method(
            dw_sheet_add_reading(sheet, "held.limit", "Once a revolution, at most", held->limit, "% peak", 3),
            "95 % upper limit: nothing was found");
    }
    if (held->found && dw_held_line_is_found(twice))
        add_line(sheet, "revolution.second", "Twice a revolution", twice, "likewise, at twice the turn's rate");
    ask_speed(held, sheet);
}

static void add_parts(const DwHeld *held, DwSheet *sheet)
{
    static const char *const columns[] = {"part|Part||0",   "frequency|Rate|Hz|3", "amplitude|Amplitude|% peak|3",
                                          "off|±|% peak|3", "found|Found||0",      NULL};
    if (held->parts == 0)
        return;
    DwTable *table = dw_sheet_add_table(sheet, "held.parts", "Parts of the drive", columns);
    for (size_t i = 0; i < held->parts; i++) {
        const DwHeldLine *line = &held->fit.line[2 + i];
        bool found = dw_held_line_is_found(line);
        size_t row = dw_table_add_row(table);
        dw_table_set_word(table, row, 0, dw_part_word(held->part[i].part));
        dw_table_set_number(table, row, 1, line->rate_hz);
        dw_table_set_number(table, row, 2, found ? line->amplitude : line->amplitude + 0.84 * line->widest_off);
        if (found)
            dw_table_set_number(table, row, 3, line->off);
        dw_table_set_word(table, row, 4, found ? "yes" : "no: at most this");
    }
}

static void add_moments(const DwHeld *held, DwSheet *sheet)
{
    static const char *const columns[] = {"from|From|s|1",
                                          "to|To|s|1",
                                          "notes|Notes||0",
                                          "partials|Partials||0",
                                          "share|Share of what was learnt|%|0",
                                          NULL};
    DwTable *table = dw_sheet_add_table(sheet, "held.moments", "Moments that served", columns);
    double least = 0;
    // Of many the ones that told most, still in their order.
    for (double share = 1; held->moments > MOMENTS_SHOWN && share > 1e-6; share *= 0.8) {
        size_t over = 0;
        for (size_t m = 0; m < held->moments; m++)
            over += held->moment[m].share >= share;
        if (over > MOMENTS_SHOWN)
            break;
        least = share;
    }
    for (size_t m = 0; m < held->moments; m++) {
        const DwHeldMoment *moment = &held->moment[m];
        if (moment->share < least)
            continue;
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, moment->from_s + held->settings.skip_s);
        dw_table_set_number(table, row, 1, moment->to_s + held->settings.skip_s);
        dw_table_set_number(table, row, 2, (double)moment->notes);
        dw_table_set_number(table, row, 3, (double)moment->partials);
        dw_table_set_number(table, row, 4, 100 * moment->share);
    }
}

static void add_turn_curve(const DwHeld *held, DwSheet *sheet)
{
    DwCurve *curve =
        dw_sheet_add_curve(sheet, "held.turn", "Common to all notes over a turn", (DwAxis){"Platter angle", "deg"},
                           (DwAxis){"Deviation", "%"}, DW_HELD_TURN_POINTS);
    for (size_t a = 0; a < DW_HELD_TURN_POINTS; a++) {
        curve->x_values[a] = ((double)a + 0.5) * 360 / DW_HELD_TURN_POINTS;
        curve->y_values[a] = held->turn_percent[a];
    }
}

static void add_moment_curve(const DwHeld *held, DwSheet *sheet)
{
    enum { POINTS = 400 };
    const DwHeldFit *fit = &held->fit;
    DwCurve *curve = dw_sheet_add_curve(sheet, "moments.partials", "Held partials that served", (DwAxis){"Time", "s"},
                                        (DwAxis){"Partials", ""}, POINTS);
    double step_s = held->length_s / POINTS;
    memset(curve->y_values, 0, POINTS * sizeof *curve->y_values);
    for (size_t i = 0; i < POINTS; i++)
        curve->x_values[i] = held->settings.skip_s + ((double)i + 0.5) * step_s;
    for (size_t j = 0; j < fit->count; j++) {
        const DwPartialCourse *course = &fit->courses[j];
        double end_s = course->first_s + (double)course->count * course->step_s;
        for (size_t i = (size_t)(course->first_s / step_s); i < POINTS && (double)i * step_s < end_s; i++)
            curve->y_values[i]++;
    }
}

static void add_speed(const DwHeld *held, DwSheet *sheet)
{
    const DwHeldTuning *tuning = &held->tuning;
    if (!isfinite(held->settings.tuning_hz)) {
        dw_sheet_not_measured(sheet, "speed.error",
                              "music alone does not tell how fast the deck turns. Where it is known how the players "
                              "tuned, state music.tuning; else take a test record's tone or a strobe disc.");
        return;
    }
    if (tuning->off_cents <= 0 || tuning->spread_cents > SPREAD_MOST_CENTS) {
        dw_sheet_not_measured(sheet, "speed.error",
                              "the notes do not lie on one equal-tempered scale, so that the tuning tells nothing.");
        return;
    }
    double ratio = exp2(tuning->cents / 1200);
    DwReading *reading = dw_sheet_add_estimate(sheet, "speed.error", "Speed error", 100 * (ratio - 1), "%", 2,
                                               100 * ratio * M_LN2 * tuning->off_cents / 1200,
                                               "pitch of the notes against the stated tuning, equal temperament");
    reading->flags |= DW_FLAG_APPROXIMATE;
    dw_sheet_remark(
        sheet,
        "Speed error by the stated tuning: %zu notes lie %.0f cents beside it and %.0f cents apart from one "
        "another. A speed that is off by more than 2.9 %% looks like the next semitone.",
        tuning->notes, tuning->cents, tuning->spread_cents);
}

static void add_remarks(const DwHeld *held, DwSheet *sheet)
{
    double rpm;
    if (dw_held_is_one_tone(held))
        dw_sheet_remark(sheet,
                        "This is one steady tone, as a test record has it, not music. Measure it with speed, which "
                        "tells the speed and flutter as well.");
    if (held->found)
        dw_sheet_remark(sheet,
                        "All held notes rise and fall together by %.2f %% once a turn (%.0f cents): the deck or a "
                        "record off its centre, not the players. Turn the record by half a turn on the platter and "
                        "record again: what turns with it is the record's.",
                        held->fit.line[0].amplitude, 1200 * log2(1 + held->fit.line[0].amplitude / 100));
    else if (!other_turn(held, &rpm))
        dw_sheet_remark(sheet, "No wow is found that comes once a turn: it is below %.3f %% peak (95 %%).",
                        held->limit);
    dw_sheet_remark(sheet, "%zu partials of %zu notes were followed; notes sound for %.0f of %.0f s.", held->fit.count,
                    held->fit.notes, held->held_s, held->length_s);
    if (held->vibrati)
        dw_sheet_remark(sheet, "%zu of the partials shake by the player's vibrato; they count for less.",
                        held->vibrati);
    if (held->hum_hz > 0)
        dw_sheet_remark(sheet, "Hum of the mains at %.0f Hz and its multiples is heard all the time; it was left out.",
                        held->hum_hz);
    if (held->held_s < GOOD_HELD_S)
        dw_sheet_remark(sheet, "Little is held: 10 s of held notes or more make a better measure.");
    if (dw_music_take_shortened(held->take))
        dw_sheet_remark(sheet, "Only the first half hour was used.");
}

void dw_held_sheet_fill(const DwHeld *held, DwSheet *sheet)
{
    add_turn(held, sheet);
    if (isfinite(held->flutter_limit))
        dw_reading_set_method(
            dw_sheet_add_reading(sheet, "held.flutter_limit", "Flutter up to 6 Hz, at most", held->flutter_limit, "%",
                                 2),
            "twice the rms of what is common to all notes beside the lines; the players' own is in it");
    dw_reading_set_method(dw_sheet_add_reading(sheet, "held.length", "Notes held for", held->held_s, "s", 1),
                          "time with at least one partial that stays a second");
    add_speed(held, sheet);
    add_parts(held, sheet);
    add_moments(held, sheet);
    add_turn_curve(held, sheet);
    add_moment_curve(held, sheet);
    add_remarks(held, sheet);
}
