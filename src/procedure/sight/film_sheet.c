// SPDX-License-Identifier: MIT
#include "procedure/sight/film_taken.h"

#include "base/memory.h"
#include "base/usual_speed.h"
#include "base/tongue.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { CURVE_MOST = 2000, RASTER_COLUMNS = 36, ROWS_MOST = 400 };

static const double speed_half_s = 0.1;
static const double print_share = 0.00004; // of the speed, once a turn: what a print and a lens leave
static const double off_share = 0.003;     // of how far the disc lies beside the axis, over its radius
static const double disc_mm = 70;          // that radius, about
static const double run_down_share = 0.97;
static const double settle_s = 0.06; // within which the last swing out of the band is seen; fitted on drawn courses

static const double light_least = 0.004, light_beyond_noise = 12; // the last: one of a hundred thousand by chance
static const double break_s = 0.5, break_bands = 3; // steady again for so long; out of the band by so much

static const char by_marks[] = "angle of the disc's marks, frame by frame";

// What the sheet is filled from.
typedef struct {
    const DwFilmTaken *taken;
    DwPlatterCourse course;
    DwPlatterMotion motion;
    double nominal_rpm, band, clock;
    DwSheet *sheet;
    unsigned flags;
} Filling;

static double rpm_of(double rate)
{
    return rate * 60 / (2 * M_PI);
}

static DwReading *add(const Filling *f, const char *key, const char *label, double value, const char *unit, int digits,
                      double off)
{
    DwReading *reading = dw_sheet_add_estimate(f->sheet, key, label, value, unit, digits, off, by_marks);
    reading->flags |= f->flags;
    return reading;
}

static void add_speed(const Filling *f)
{
    const DwPlatterMotion *m = &f->motion;
    double other = dw_usual_speed_other(m->rate / (2 * M_PI), f->nominal_rpm);
    double rpm = rpm_of(m->rate), off = hypot(m->rate_doubt, f->clock);
    DwReading *error = add(f, "speed.error", "Speed error", 100 * (rpm / f->nominal_rpm - 1), "%", 4,
                           100 * off * rpm / f->nominal_rpm);
    if (isfinite(other)) {
        error->flags |= DW_FLAG_APPROXIMATE;
        dw_sheet_remark(f->sheet,
                        "The platter turns at %.2f rpm, and %.4g rpm is stated. If it was switched to %.4g rpm, give "
                        "deck.speed=%.4grpm.",
                        rpm, f->nominal_rpm, other, other);
    }
    add(f, "speed.mean", "Mean speed", rpm, "rpm", 4, off * rpm);
    if (m->to_s - m->from_s >= 10)
        add(f, "speed.drift", "Drift", 100 * m->drift_per_min, "%/min", 4, 100 * m->drift_doubt);
    else
        dw_sheet_not_measured(f->sheet, "speed.drift",
                              "the film shows %.0f s of steady speed; 10 s or more are needed.", m->to_s - m->from_s);
}

// Of what comes once a turn, a print and a disc beside the axis included [%].
static double turn_doubt(const Filling *f)
{
    return 100 * hypot(f->motion.harmonic_doubt, print_share + off_share * f->taken->off_mm / disc_mm);
}

static void add_turn(const Filling *f)
{
    const DwPlatterMotion *m = &f->motion;
    if (!m->has_harmonics) {
        dw_sheet_not_measured(f->sheet, "revolution.amplitude",
                              "the film shows %.1f steady turns; %d or more are needed.", m->turns,
                              DW_PLATTER_TURNS_LEAST);
        return;
    }
    double off = turn_doubt(f);
    add(f, "revolution.amplitude", "Once a revolution, the platter's own", 100 * m->harmonic[0], "% peak", 4, off);
    add(f, "revolution.second", "Twice a revolution", 100 * m->harmonic[1], "% peak", 4, 2 * off);
}

// Whether the marks' light swings at HZ: in rows that are exposed one after the other a lamp that flickers then moves
// the marks too. What passes as often as marks do is the marks' own shading.
static bool light_swings(const Filling *f, double hz)
{
    size_t count;
    DwMarkedPaper paper;
    const DwFilmFrame *frames = dw_film_track_frames(f->taken->track, &count);
    if (count < 2 || !dw_film_track_paper(f->taken->track, &paper))
        return false;
    double marks_hz = f->motion.rate / (2 * M_PI) * (double)dw_paper_marks_count(paper);
    double length_s = frames[count - 1].time_s - frames[0].time_s, mean = 0, square = 0, c = 0, s = 0;
    for (size_t i = 0; i < count; i++)
        mean += (double)frames[i].white / (double)count;
    for (size_t i = 0; i < count; i++) {
        double off = (double)frames[i].white - mean, phase = 2 * M_PI * hz * frames[i].time_s;
        square += off * off;
        c += off * cos(phase);
        s += off * sin(phase);
    }
    double swing = 2 * hypot(c, s) / (double)count;
    bool is_shading = fabs(hz - marks_hz * round(hz / marks_hz)) * length_s < 2;
    return !is_shading && swing > light_least * mean && c * c + s * s > light_beyond_noise * square;
}

static void add_lines(const Filling *f)
{
    static const char *const columns[] = {"frequency|Frequency|Hz|3", "amplitude|Amplitude|% peak|4",
                                          "uncertainty|±|% peak|4", "per_turn|Times a turn||3", NULL};
    const DwPlatterMotion *m = &f->motion;
    double square = 0, turn_hz = m->rate / (2 * M_PI);
    for (int k = 0; k < DW_PLATTER_HARMONICS && m->has_harmonics; k++)
        square += m->harmonic[k] * m->harmonic[k] / 2;
    DwTable *table = dw_sheet_add_table(f->sheet, "film.lines", "Slow flutter that stands out", columns);
    for (size_t i = 0; i < m->line_count; i++) {
        const DwPlatterLine *line = &m->lines[i];
        if (light_swings(f, line->hz)) {
            dw_sheet_remark(f->sheet,
                            "The light flickers at %.2f Hz as the film shows it, and makes the marks seem to swing by "
                            "%.3f %% there: that is the lamp, and is left out. Film by daylight to see what the "
                            "platter does there.",
                            line->hz, line->percent);
            continue;
        }
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, line->hz);
        dw_table_set_number(table, row, 1, line->percent);
        dw_table_set_number(table, row, 2, line->doubt_percent);
        dw_table_set_number(table, row, 3, line->hz / turn_hz);
        square += line->percent * line->percent / 2e4;
    }
    if (m->has_harmonics)
        add(f, "flutter.slow", "Slow flutter in lines and turns, rms", 100 * sqrt(square), "%", 4, turn_doubt(f));
}

static void add_start(const Filling *f)
{
    DwPlatterStart start;
    if (!dw_platter_start(&f->course, &f->motion, f->band, &start)) {
        dw_sheet_not_measured(f->sheet, "startup.time",
                              "the platter turns already when the film begins. Begin to film before the motor.");
        return;
    }
    add(f, "startup.time", "Time to reach speed", start.time_s, "s", 2, start.doubt_s);
    add(f, "startup.settle", "Time to settle", start.settle_s, "s", 2, hypot(start.doubt_s, settle_s));
    if (start.overshoot > 0)
        add(f, "startup.overshoot", "Overshoot", 100 * start.overshoot, "%", 2, NAN);
    dw_sheet_remark(f->sheet, "The platter begins to move %.2f s into the film.", start.begins_s);
}

// The run-down behind the steady part, as operands of the bearing's test.
static void tell_run_down(const Filling *f, const double *speeds)
{
    enum { POINTS = 6 };
    size_t first = f->motion.first + f->motion.count, count = f->course.count;
    while (first < count && speeds[first] > run_down_share * f->motion.rate)
        first++;
    if (count - first < 10 || speeds[count - 1] > 0.8 * f->motion.rate || speeds[count - 1] < 0)
        return;
    char text[240] = "";
    size_t length = 0;
    for (size_t i = 0; i < POINTS && length < sizeof text; i++) {
        size_t at = first + i * (count - 1 - first) / (POINTS - 1);
        length += (size_t)snprintf(text + length, sizeof text - length, "%sbearing.at=%.2f:%.2f", i ? " " : "",
                                   f->course.time_s[at] - f->course.time_s[first], rpm_of(speeds[at]));
    }
    dw_sheet_remark(f->sheet, "It runs down at the end. For the bearing's test: %s.", text);
}

// What stands steady apart from the stretch that is measured, with a break between: where it is deepest.
static void tell_break(const Filling *f, const double *speeds)
{
    const DwPlatterMotion *m = &f->motion;
    double band = fmax(f->band, 0.01), deepest = break_bands * band, at_s = NAN;
    size_t first = f->course.count, last = 0; // of all that stands steady
    for (size_t i = 0, begun = 0; i <= f->course.count; i++) {
        if (i < f->course.count && fabs(speeds[i] / m->rate - 1) <= band)
            continue;
        if (i > begun && f->course.time_s[i - 1] - f->course.time_s[begun] >= break_s) {
            first = begun < first ? begun : first;
            last = i;
        }
        begun = i + 1;
    }
    for (size_t i = first; i < last; i++)
        if (fabs(speeds[i] / m->rate - 1) > deepest) {
            deepest = fabs(speeds[i] / m->rate - 1);
            at_s = f->course.time_s[i];
        }
    if (isfinite(at_s))
        dw_sheet_remark(f->sheet,
                        "At %.1f s the speed is off by %.0f %% and comes back: the disc slipped on the platter, "
                        "something touched it, or the drive falters. What is measured lies between %.1f and %.1f s.",
                        at_s, 100 * deepest, m->from_s, m->to_s);
}

static void add_curve(const Filling *f, const double *speeds)
{
    size_t step = f->course.count / CURVE_MOST + 1, count = f->course.count / step;
    DwCurve *curve =
        dw_sheet_add_curve(f->sheet, "film.speed", "Speed", (DwAxis){"Time", "s"}, (DwAxis){"Speed", "rpm"}, count);
    for (size_t i = 0; i < count; i++) {
        curve->x_values[i] = f->course.time_s[i * step];
        curve->y_values[i] = rpm_of(speeds[i * step]);
    }
}

// One row a revolution, the platter's angle across, the speed's deviation as colour.
static void add_raster(const Filling *f, const double *speeds)
{
    const DwPlatterMotion *m = &f->motion;
    size_t rows = m->turns < ROWS_MOST ? (size_t)m->turns : ROWS_MOST;
    if (rows < 2)
        return;
    DwRaster *raster =
        dw_sheet_add_raster(f->sheet, "speed.raster", "Revolution raster", (DwAxis){"Platter angle", "deg"},
                            (DwAxis){"Revolution", ""}, "%", rows, RASTER_COLUMNS);
    raster->across_span = 360;
    raster->down_start = raster->down_step = 1;
    double *counts = dw_memory_new(rows * RASTER_COLUMNS, sizeof *counts);
    for (size_t i = m->first; i < m->first + m->count; i++) {
        double turns = (f->course.turn[i] - f->course.turn[m->first]) / (2 * M_PI);
        size_t cell = turns > 0 ? (size_t)(turns * RASTER_COLUMNS) : 0;
        if (cell >= rows * RASTER_COLUMNS)
            continue;
        float deviation = (float)(100 * (speeds[i] / m->rate - 1));
        raster->values[cell] = counts[cell] > 0 ? raster->values[cell] + deviation : deviation;
        counts[cell]++;
    }
    for (size_t cell = 0; cell < rows * RASTER_COLUMNS; cell++)
        if (counts[cell] > 1)
            raster->values[cell] /= (float)counts[cell];
    free(counts);
}

static void tell_camera(const Filling *f)
{
    const DwFilmTaken *taken = f->taken;
    const DwFilmCamera *camera = &taken->camera;
    DwReading *reading = dw_sheet_add_reading(f->sheet, "film.frames", "Frames measured", (double)taken->count, "", 0);
    dw_reading_set_method(reading, by_marks);
    dw_sheet_add_reading(f->sheet, "film.frame_rate", "Frames a second", 1 / taken->frame_s, "Hz", 2);
    dw_sheet_add_reading(f->sheet, "film.rest", "What the edges of the marks are off", camera->rest_px, "px", 3);
    dw_sheet_add_estimate(f->sheet, "film.readout", "Shutter from first to last row", 1000 * camera->readout_s, "ms", 1,
                          1000 * camera->readout_doubt_s, by_marks);
    dw_sheet_remark(f->sheet, "The disc's middle lies %.2f mm beside the platter's axis; that is taken out.",
                    taken->off_mm);
    if (taken->gaps)
        dw_sheet_remark(f->sheet, "Frames are missing in %zu place%s, as their times tell; what is measured holds.",
                        taken->gaps, taken->gaps == 1 ? "" : "s");
    if (taken->light < 0.75)
        dw_sheet_remark(f->sheet, "The light is uneven: some frames have %.0f %% of the light of others.",
                        100 * taken->light);
    if (taken->stopped[0])
        dw_sheet_remark(f->sheet, "The film breaks off (%s); what came before is measured.", taken->stopped);
    if (taken->backwards)
        dw_sheet_remark(f->sheet, "The platter turns anticlockwise, against a record's way.");
}

static void tell_limits(const Filling *f)
{
    dw_sheet_remark(
        f->sheet, "This is the platter alone, without any record: what a record adds once a turn by its hole is not in "
                  "it. Taken out of what speed finds once a turn, it leaves the record's share.");
    dw_sheet_remark(f->sheet, "A camera sees no flutter above some %.0f Hz; that takes a test record.",
                    0.4 / f->taken->frame_s);
    dw_sheet_caution(f->sheet, "Keep hair, sleeves and the telephone's cord away from the turning platter.");
}

// How many times a film runs slower than what it shows: a camera's slow motion gives frames times that are not their
// own. 1 where nothing says so.
static int slowed(double rate, double nominal_rpm)
{
    static const int times[] = {4, 8, 16};
    static const double within = 0.03;
    for (size_t i = 0; i < sizeof times / sizeof *times; i++)
        if (fabs(times[i] * rpm_of(rate) / nominal_rpm - 1) < within)
            return times[i];
    return 1;
}

DwStatus dw_film_sheet_fill(const DwFilmTaken *taken, double nominal_rpm, double band, double clock, DwSheet *sheet,
                            DwMessage *message)
{
    Filling f = {.taken = taken,
                 .course = {taken->time_s, taken->turn, taken->count},
                 .nominal_rpm = nominal_rpm,
                 .band = band,
                 .clock = clock,
                 .sheet = sheet};
    if (!dw_platter_motion(&f.course, fmax(band, 0.01), &f.motion))
        return dw_fail(message, DW_BAD_INPUT,
                       "The platter does not turn steadily for a second in this film. Film it for 30 s at speed.");
    int slow = slowed(f.motion.rate, nominal_rpm);
    if (slow > 1)
        return dw_fail(message, DW_BAD_INPUT,
                       "By the frames' times the platter turns at %.2f rpm, %s of what is stated: a film in slow "
                       "motion. Film at the usual speed; or state deck.speed, if it does turn so slowly.",
                       rpm_of(f.motion.rate),
                       slow == 4   ? dw_said("a quarter")
                       : slow == 8 ? dw_said("an eighth")
                                   : dw_said("a sixteenth"));
    if ((double)taken->gaps > 0.02 * (double)taken->count)
        f.flags |= DW_FLAG_GAPS;
    if (f.motion.to_s - f.motion.from_s < 5)
        f.flags |= DW_FLAG_SHORT;
    double *speeds = dw_platter_speeds(&f.course, speed_half_s);
    add_speed(&f);
    add_turn(&f);
    add_start(&f);
    add_lines(&f);
    tell_camera(&f);
    add_curve(&f, speeds);
    add_raster(&f, speeds);
    tell_break(&f, speeds);
    tell_run_down(&f, speeds);
    tell_limits(&f);
    free(speeds);
    return DW_OK;
}
