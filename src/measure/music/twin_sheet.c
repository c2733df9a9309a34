// SPDX-License-Identifier: MIT
#include "measure/music/twin_analysis.h"

#include "base/heard_speed.h"
#include "base/usual_speed.h"

#include <math.h>

static const double SAID_DB = 1, SURE_DB = 0.7;        // a change of response worth a sentence; of level
static const double DOUBTFUL = 0.8;                    // of the music that agrees: less may be a wrong match
static const double TREBLE_HZ = 3900, TREBLE_DB = 0.2; // from where; the medians' own doubt, by drawn pairs
static const double WORN_HZ = 8000;                    // a loss from here on must show, or be called untold
static const double LEAST_ONCE = 0.01;                 // % peak: less is no deck's once a turn
enum { COURSE_POINTS_MOST = 3000 };

// A line above ONCE, the one at the stated turn, that would be once a turn at another usual speed.
static void ask_speed(const DwTwin *twin, DwSheet *sheet, DwReading *once)
{
    for (size_t l = 2; l < twin->fit.lines; l++) {
        const DwTwinLine *line = &twin->fit.line[l];
        double rpm = dw_usual_speed_other(line->rate_hz, twin->settings.speed_rpm);
        if (isnan(rpm) || line->amplitude < fmax(2 * once->value, LEAST_ONCE))
            continue;
        once->flags |= DW_FLAG_APPROXIMATE;
        dw_sheet_remark(sheet,
                        "%.1f times a minute the two differ by %.3f %%: was the record played at %.4g rpm? Then give "
                        "deck.speed=%.4grpm. Once a revolution is looked for at %.4g rpm here.",
                        60 * line->rate_hz, line->amplitude, rpm, rpm, twin->settings.speed_rpm);
        return;
    }
}

static void add_speed(const DwTwin *twin, DwSheet *sheet)
{
    const DwTwinFit *fit = &twin->fit;
    dw_sheet_add_estimate(sheet, "twin.speed", "First faster than second by", fit->speed, "%", 4, fit->speed_off,
                          "the same music in less time, from end to end");
    dw_sheet_add_estimate(sheet, "twin.drift", "Drift of the first against the second", fit->drift, "%/min", 4,
                          fit->drift_off, "straight line through the speed of the one against the other");
    const DwTwinLine *once = &fit->line[0], *twice = &fit->line[1];
    DwReading *reading =
        dw_sheet_add_estimate(sheet, "twin.revolution", "Once a revolution, difference", once->amplitude, "% peak", 4,
                              once->off, "vector of the first less that of the second, fitted at the turn's rate");
    if (!fit->once_found)
        reading->flags |= DW_FLAG_NOISY;
    ask_speed(twin, sheet, reading);
    if (twin->share < DOUBTFUL)
        for (size_t i = 0; i < sheet->reading_count; i++)
            sheet->readings[i].flags |= DW_FLAG_GAPS;
    dw_sheet_add_estimate(sheet, "twin.second", "Twice a revolution, difference", twice->amplitude, "% peak", 4,
                          twice->off, "likewise, at twice the turn's rate");
}

static void add_lines(const DwTwin *twin, DwSheet *sheet)
{
    static const char *const columns[] = {"frequency|Frequency|Hz|3", "amplitude|Amplitude|% peak|4", "off|±|% peak|4",
                                          "times|Times the turn's rate||3", NULL};
    DwTable *table = dw_sheet_add_table(sheet, "twin.lines", "Lines of the one against the other", columns);
    for (size_t l = 0; l < twin->fit.lines; l++) {
        const DwTwinLine *line = &twin->fit.line[l];
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, line->rate_hz);
        dw_table_set_number(table, row, 1, line->amplitude);
        dw_table_set_number(table, row, 2, line->off);
        dw_table_set_number(table, row, 3, line->rate_hz / twin->fit.line[0].rate_hz);
    }
}

// How many milliseconds the first is ahead of the mean speed, and what each moment's speed is.
static void add_course(const DwTwin *twin, DwSheet *sheet)
{
    const DwTwinCourse *course = &twin->course;
    size_t used = 0;
    for (size_t i = 0; i < course->count; i++)
        used += course->point[i].used;
    size_t each = used / COURSE_POINTS_MOST + 1, points = used / each;
    if (points < 2)
        return;
    DwCurve *curve = dw_sheet_add_curve(sheet, "twin.course", "First ahead of second, beside the mean speed",
                                        (DwAxis){"Time in the first", "s"}, (DwAxis){"Ahead", "ms"}, points);
    double ratio = 1 + twin->fit.speed / 100, start = NAN, kept = 0;
    unsigned piece = 0;
    size_t at = 0, seen = 0;
    for (size_t i = 0; i < course->count && at < points; i++) {
        const DwTwinPoint *point = &course->point[i];
        if (!point->used)
            continue;
        double place = point->other_s - ratio * point->at_s;
        if (isnan(start) || point->piece != piece) // what was skipped or cut is not speed
            start = place - (isnan(start) ? 0 : kept);
        piece = point->piece;
        kept = place - start;
        if (seen++ % each)
            continue;
        curve->x_values[at] = point->at_s + twin->settings.skip_s[0];
        curve->y_values[at++] = 1000 * kept;
    }
    for (; at < points; at++)
        curve->x_values[at] = curve->x_values[at - 1];
}

// A row a turn of the first: by how much it runs faster than the mean at each angle.
static void add_raster(const DwTwin *twin, DwSheet *sheet)
{
    enum { COLUMNS = 60 };
    const DwTwinCourse *course = &twin->course;
    double turn_hz = twin->fit.line[0].rate_hz, ratio = 1 + twin->fit.speed / 100;
    double from_s = course->point[0].at_s, to_s = course->point[course->count - 1].at_s;
    size_t rows = (size_t)((to_s - from_s) * turn_hz);
    if (rows < 2)
        return;
    DwRaster *raster =
        dw_sheet_add_raster(sheet, "twin.raster", "First against second, turn by turn",
                            (DwAxis){"Platter angle", "deg"}, (DwAxis){"Revolution", ""}, "%", rows, COLUMNS);
    raster->across_span = 360;
    raster->down_start = raster->down_step = 1;
    for (size_t i = 1; i + 1 < course->count; i++) {
        const DwTwinPoint *a = &course->point[i - 1], *b = &course->point[i + 1];
        double span_s = b->at_s - a->at_s;
        if (!a->used || !b->used || a->piece != b->piece || span_s > 0.25)
            continue;
        double percent = 100 * ((b->other_s - a->other_s) / span_s / ratio - 1);
        size_t first = (size_t)((a->at_s - from_s) * turn_hz * COLUMNS),
               last = (size_t)((b->at_s - from_s) * turn_hz * COLUMNS);
        for (size_t cell = first; cell <= last && cell < rows * COLUMNS; cell++)
            raster->values[cell] = (float)percent;
    }
}

// --- levels ------------------------------------------------------------------------

static void add_response(const DwTwin *twin, DwSheet *sheet)
{
    static const char *const keys[3] = {"response.left", "response.right", "response.mono"};
    static const char *const labels[3] = {"Second against first, left", "Second against first, right",
                                          "Second against first"};
    const DwTwinLevelling *levelling = &twin->levelling;
    for (unsigned c = 0; c < levelling->channels; c++) {
        unsigned which = levelling->channels == 2 ? c : 2;
        DwCurve *curve = dw_sheet_add_curve(sheet, keys[which], labels[which], (DwAxis){"Frequency", "Hz"},
                                            (DwAxis){"Level", "dB"}, DW_TWIN_THIRDS);
        for (size_t b = 0; b < DW_TWIN_THIRDS; b++) {
            curve->x_values[b] = dw_twin_levels_third_hz(b);
            curve->y_values[b] = levelling->response_db[c][b];
        }
    }
}

// Where the picture of levels begins and ends short of what third octaves there are.
static void say_levelled(const DwTwinLevelling *levelling, DwSheet *sheet)
{
    size_t first = DW_TWIN_THIRDS, last = 0;
    for (size_t c = 0; c < levelling->channels; c++)
        for (size_t b = 0; b < DW_TWIN_THIRDS; b++)
            if (isfinite(levelling->response_db[c][b])) {
                first = b < first ? b : first;
                last = b;
            }
    if (first > last)
        return;
    if (first > 0)
        dw_sheet_remark(
            sheet, "Below %.0f Hz levels are not told: there is too little music there that rises and falls in both.",
            dw_twin_levels_third_hz(first) * pow(10, -0.05));
    if (last + 1 < DW_TWIN_THIRDS)
        dw_sheet_remark(
            sheet, "Above %.0f kHz levels are not told: there is too little music there that rises and falls in both.",
            dw_twin_levels_third_hz(last) * pow(10, 0.05) / 1000);
}

// Mean of the difference right less left over the bands from FIRST on, and how far it may be off (95 %); NAN without
// any.
static double beyond(const DwTwinLevelling *levelling, size_t first, double *off)
{
    double sum = 0, square = 0, count = 0;
    for (size_t b = first; b < DW_TWIN_THIRDS; b++) {
        double difference = levelling->response_db[1][b] - levelling->response_db[0][b] - levelling->balance_db;
        if (isfinite(difference)) {
            sum += difference;
            square += levelling->off_db[0][b] * levelling->off_db[0][b];
            square += levelling->off_db[1][b] * levelling->off_db[1][b];
            count++;
        }
    }
    *off = sqrt(square) / count;
    return count >= 2 ? sum / count : NAN;
}

// Up to where a loss of one channel would show: it takes two bands that are told of both. 0 without.
static double told_up_to_hz(const DwTwinLevelling *levelling)
{
    size_t count = 0;
    for (size_t b = DW_TWIN_THIRDS; b-- > 0;) {
        count += isfinite(levelling->response_db[0][b]) && isfinite(levelling->response_db[1][b]);
        if (count == 2)
            return dw_twin_levels_third_hz(b) * pow(10, 0.05);
    }
    return 0;
}

// Says from where on it is unknown whether one channel lost more than the other, where that is within what wears.
static void say_untold_top(double told_hz, DwSheet *sheet)
{
    if (told_hz < WORN_HZ)
        dw_sheet_remark(sheet,
                        "Whether one channel lost more above %.0f kHz than the other cannot be told: too little music "
                        "there rises and falls in both recordings. A longer stretch may tell.",
                        fmax(told_hz, TREBLE_HZ) / 1000);
}

// Says what one channel lost at the top against the other: from the lowest band on from where all bands show most of
// it.
static void say_channel_loss(const DwTwinLevelling *levelling, DwSheet *sheet)
{
    size_t first = DW_TWIN_THIRDS;
    double off = 0;
    for (size_t b = DW_TWIN_THIRDS; b-- > 10;) {
        double difference = levelling->response_db[1][b] - levelling->response_db[0][b] - levelling->balance_db;
        double all = beyond(levelling, b, &off);
        if (isfinite(difference) && (fabs(difference) < SAID_DB || difference * all < 0))
            break;
        if (isfinite(difference))
            first = b;
    }
    double loss = first < DW_TWIN_THIRDS ? beyond(levelling, first, &off) : NAN;
    if (!isfinite(loss) || fabs(loss) < SAID_DB + off)
        return;
    double hz = dw_twin_levels_third_hz(first) * pow(10, -0.05);
    dw_sheet_remark(
        sheet,
        "Above %.*f kHz the %s channel of the second is %.1f dB (± %.1f) weaker than in the first, against the "
        "%s.",
        hz < 1950 ? 1 : 0, hz / 1000, loss < 0 ? "right" : "left", fabs(loss), off, loss < 0 ? "left" : "right");
}

// The second against the first in CHANNEL from TREBLE_HZ on, beside the level of both, and how far it may be off (95
// %); NAN where too little stands over the noise up there.
static double treble_of(const DwTwinLevelling *levelling, size_t channel, double *off)
{
    double sum = 0, square = 0, count = 0;
    for (size_t b = 0; b < DW_TWIN_THIRDS; b++) {
        if (dw_twin_levels_third_hz(b) < TREBLE_HZ || !isfinite(levelling->response_db[channel][b]))
            continue;
        sum += levelling->response_db[channel][b];
        square += levelling->off_db[channel][b] * levelling->off_db[channel][b];
        count++;
    }
    *off = sqrt(square) / count;
    return count >= 2 ? sum / count : NAN;
}

// What a worn copy or a worn tip loses first.
static void add_treble(const DwTwinLevelling *levelling, DwSheet *sheet)
{
    double sum = 0, square = 0, weakest = INFINITY, strongest = -INFINITY;
    for (size_t c = 0; c < levelling->channels; c++) {
        double off, treble = treble_of(levelling, c, &off);
        sum += treble / levelling->channels;
        square += off * off;
        weakest = fmin(weakest, treble);
        strongest = fmax(strongest, treble);
    }
    if (!isfinite(sum)) {
        dw_sheet_not_measured(sheet, "twin.treble", "too little of the two stands over their noise above 4 kHz.");
        return;
    }
    double off = hypot(sqrt(square) / levelling->channels, TREBLE_DB);
    dw_sheet_add_estimate(sheet, "twin.treble", "Above 4 kHz, second over first", sum, "dB", 1, off,
                          "third octaves from 4 kHz on, against 300 Hz to 3 kHz");
    if (strongest < -SAID_DB - off || weakest > SAID_DB + off)
        dw_sheet_remark(sheet,
                        "Above 4 kHz the %s is %.1f dB (± %.1f) weaker than the %s. Where nothing but the playing lies "
                        "between them, its groove or the tip has worn; tone controls, another cartridge or its load do "
                        "the same.",
                        sum < 0 ? "second" : "first", fabs(sum), off, sum < 0 ? "first" : "second");
}

static void add_levels(const DwTwin *twin, DwSheet *sheet)
{
    const DwTwinLevelling *levelling = &twin->levelling;
    if (!twin->levelled) {
        dw_sheet_not_measured(sheet, "twin.level", "too little of the two stands over their noise.");
        dw_sheet_not_measured(sheet, "twin.treble", "too little of the two stands over their noise above 4 kHz.");
        if (levelling->channels == 2)
            say_untold_top(0, sheet);
        return;
    }
    dw_reading_set_method(
        dw_sheet_add_reading(sheet, "twin.level", "Second louder than first by", levelling->level_db, "dB", 1),
        "median of places, 300 Hz to 3 kHz");
    if (isfinite(levelling->balance_db))
        dw_reading_set_method(dw_sheet_add_reading(sheet, "twin.balance", "Right over left, second against first",
                                                   levelling->balance_db, "dB", 1),
                              "likewise, channel by channel");
    else
        dw_sheet_not_measured(sheet, "twin.balance",
                              twin->wiring.silent[0] >= 0 || twin->wiring.silent[1] >= 0
                                  ? "a channel is silent."
                                  : "one of the two recordings has one channel only.");
    add_treble(levelling, sheet);
    add_response(twin, sheet);
    say_levelled(levelling, sheet);
    if (fabs(levelling->balance_db) > fmax(SURE_DB, levelling->balance_off_db))
        dw_sheet_remark(sheet, "In the second the %s channel is %.1f dB louder against the other than in the first.",
                        levelling->balance_db > 0 ? "right" : "left", fabs(levelling->balance_db));
    if (levelling->channels == 2) {
        say_channel_loss(levelling, sheet);
        say_untold_top(told_up_to_hz(levelling), sheet);
    }
}

// Which channel is which, and how they are poled.
static void say_wiring(const DwTwin *twin, DwSheet *sheet)
{
    static const char *const recording[] = {"first", "second"}, *const channel[] = {"left", "right"};
    const DwTwinWiring *wiring = &twin->wiring;
    for (unsigned i = 0; i < 2; i++)
        if (wiring->silent[i] >= 0)
            dw_sheet_remark(sheet, "The %s channel of the %s is silent: %.0f dB below the other. Look for its lead.",
                            channel[wiring->silent[i]], recording[i], wiring->silent_db[i]);
    if (wiring->exchanged)
        dw_sheet_remark(sheet, "The channels are exchanged: what is left in the first is right in the second.");
    bool first = dw_music_take_reversed(twin->take[0]), second = dw_music_take_reversed(twin->take[1]);
    if (wiring->polarity >= 0 || first == second) {
        dw_sheet_remark(sheet, twin->course.reversed ? "The second has the polarity reversed against the first."
                                                     : "Both have the same polarity.");
        return;
    }
    dw_sheet_remark(sheet,
                    "The polarity of the %s channel of the %s is reversed against the other recording, that of its "
                    "other channel is not: two leads of that channel are exchanged in one of the two.",
                    channel[!twin->course.reversed], recording[second]);
}

static void add_remarks(const DwTwin *twin, DwSheet *sheet)
{
    const DwTwinFit *fit = &twin->fit;
    DwHeardSpeed heard = dw_heard_speed(fit->speed);
    if (fabs(fit->speed) <= fit->speed_off)
        dw_sheet_remark(sheet, "Both run at the same speed, as far as these recordings tell: to %.4f %%.",
                        fabs(fit->speed) + fit->speed_off);
    else
        dw_sheet_remark(
            sheet, "The first runs %.3f %% %s than the second: %.0f cents, %.1f s over a side of twenty minutes.",
            fabs(fit->speed), fit->speed >= 0 ? "faster" : "slower", fabs(heard.cents), fabs(heard.early_s));
    dw_sheet_remark(
        sheet, "Which of the two decks, or recordings, each part belongs to stays open: only their difference shows. "
               "With an exact digital copy as the second all of it is the deck's and the record's.");
    dw_sheet_remark(sheet, "%.0f %% of the music agrees to the millisecond; %.0f s were compared.", 100 * twin->share,
                    fit->length_s);
    if (twin->share < DOUBTFUL)
        dw_sheet_remark(sheet,
                        "So little agrees that the two may be matched wrongly in places. Record both again, or give a "
                        "stretch without cuts (record.start, record.end).");
    if (twin->course.pieces > 1)
        dw_sheet_remark(sheet,
                        "At %u place%s the one jumps against the other: a skipped groove or a cut. Each side of it "
                        "was taken by itself.",
                        twin->course.pieces - 1, twin->course.pieces == 2 ? "" : "s");
    say_wiring(twin, sheet);
}

void dw_twin_sheet_fill(const DwTwin *twin, DwSheet *sheet)
{
    add_speed(twin, sheet);
    add_lines(twin, sheet);
    add_course(twin, sheet);
    add_raster(twin, sheet);
    add_remarks(twin, sheet);
    add_levels(twin, sheet);
    dw_twin_wear_fill(twin, sheet);
}
