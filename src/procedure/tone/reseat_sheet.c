// SPDX-License-Identifier: MIT
#include "procedure/tone/reseat_sheet.h"

#include "base/saying.h"
#include "base/text.h"
#include "dsp/statistics.h"

#include <math.h>

// A share whose 95 % interval reaches down to nothing.
static bool is_nothing(double amplitude, double off)
{
    return isfinite(off) && amplitude < off;
}

static const char *method_of(const DwShares *shares)
{
    return shares->by_amplitudes ? "amplitudes of the seatings fitted by the law of cosines"
                                 : "vectors of the seatings, least squares";
}

static void add_share(DwSheet *sheet, const char *key, const char *label, double amplitude, double off,
                      const DwShares *shares, bool doubted)
{
    DwReading *reading = dw_sheet_add_reading(sheet, key, label, amplitude, "% peak", 4);
    reading->uncertainty = off;
    if (!isfinite(off))
        reading->flags |= DW_FLAG_SHORT;
    if (doubted)
        reading->flags |= DW_FLAG_APPROXIMATE;
    dw_reading_set_method(reading, method_of(shares));
}

// Why the shares of a harmonic could not be parted.
static const char *reason(const DwReseat *reseat, size_t k)
{
    if (reseat->reference == DW_RESEAT_NONE)
        return k == 0 ? "amplitudes alone need three seatings of one band that lie 20 degrees or more apart"
                      : "amplitudes alone need three seatings of one band that lie 10 degrees or more apart and no two "
                        "of them half a turn";
    if (k == 0)
        return "the seatings lie less than 20 degrees apart. Turn the record by half a turn";
    return !reseat->shares[0].possible
               ? "the seatings lie less than 20 degrees apart. Turn the record by 90 degrees"
               : "half a turn brings the record's twice-per-revolution share back to where it was. Record once more "
                 "with the record turned by 90 degrees";
}

static void add_shares(const DwReseat *reseat, size_t k, DwSheet *sheet)
{
    static const char *const keys[2][4] = {
        {"reseat.record", "reseat.deck", "reseat.larger", "reseat.smaller"},
        {"reseat.record_second", "reseat.deck_second", "reseat.larger_second", "reseat.smaller_second"}};
    static const char *const labels[2][4] = {
        {"The record, once a revolution", "The deck, once a revolution", "The larger share, once a revolution",
         "The smaller share, once a revolution"},
        {"The record, twice a revolution", "The deck, twice a revolution", "The larger share, twice a revolution",
         "The smaller share, twice a revolution"}};
    const DwShares *s = &reseat->shares[k];
    if (s->possible && !s->open) {
        add_share(sheet, keys[k][0], labels[k][0], s->record_amplitude, s->record_off, s, reseat->misfit);
        add_share(sheet, keys[k][1], labels[k][1], s->deck_amplitude, s->deck_off, s, reseat->misfit);
        return;
    }
    for (size_t i = 0; i < 2; i++)
        dw_sheet_not_measured(sheet, keys[k][i], "%s.",
                              s->possible
                                  ? "the two shares are known, but not which is whose. Give reseat.reference, or "
                                    "add two seatings of a band at another radius with record.radius for each"
                                  : reason(reseat, k));
    if (!s->possible)
        return;
    bool deck = s->deck_amplitude >= s->record_amplitude;
    add_share(sheet, keys[k][2], labels[k][2], deck ? s->deck_amplitude : s->record_amplitude,
              deck ? s->deck_off : s->record_off, s, false);
    add_share(sheet, keys[k][3], labels[k][3], deck ? s->record_amplitude : s->deck_amplitude,
              deck ? s->record_off : s->deck_off, s, false);
}

// Millimetres off centre of a percent at the first radius: on a pivoted arm the
// swing has a part along the groove, and peak = e/(r·cos offset).
static double millimetres(const DwReseat *reseat)
{
    double lean = isfinite(reseat->offset_deg) ? cos(reseat->offset_deg * M_PI / 180) : 1;
    return reseat->parts[0].radius_mm / 100 * lean;
}

static void add_eccentricity(const DwReseat *reseat, DwSheet *sheet)
{
    const DwShares *s = &reseat->shares[0];
    double scale = millimetres(reseat);
    if (!isfinite(scale)) {
        dw_sheet_not_measured(sheet, "reseat.eccentricity",
                              "the groove radius is not stated. Give record.radius, as in record.radius=100mm.");
        return;
    }
    if (!s->possible || s->open) {
        dw_sheet_not_measured(sheet, "reseat.eccentricity", "the record's share is not known.");
        if (s->possible)
            dw_sheet_remark(sheet, "The record is %.3f mm off centre if one share is its own, %.3f mm if the other is.",
                            s->deck_amplitude * scale, s->record_amplitude * scale);
        return;
    }
    DwReading *reading = dw_sheet_add_reading(sheet, "reseat.eccentricity", "The record off centre",
                                              s->record_amplitude * scale, "mm", 3);
    reading->uncertainty = s->record_off * scale;
    dw_reading_set_method(reading, isfinite(reseat->offset_deg)
                                       ? "the record's share times radius times the cosine of the offset angle"
                                       : "the record's share times radius, as on a straight arm");
    if (!isfinite(reseat->offset_deg))
        dw_sheet_remark(sheet, "arm.offset was not given: on an arm with an offset head the record is 6 to 10 %% less "
                               "off centre than stated.");
}

// Where the record reaches farthest from the spindle, clockwise from its mark, and which way it is to be shifted.
//
// At the moment of the highest speed the groove's centre lies from the spindle towards the stylus: the mark
// stands at −arg R from the pointer then, so the long side lies at the stylus's angle plus arg R from it. On a
// pivoted arm the stylus moves along its arc as well, which advances the swing by the offset angle.
static void add_direction(const DwReseat *reseat, DwSheet *sheet)
{
    const DwShares *s = &reseat->shares[0];
    if (!s->possible || s->open || s->by_amplitudes || reseat->reference == DW_RESEAT_NONE)
        return;
    if (is_nothing(s->record_amplitude, s->record_off) || !isfinite(s->record_off))
        return;
    if (isnan(reseat->stylus_deg)) {
        dw_sheet_not_measured(sheet, "reseat.direction",
                              "needs reseat.stylus, the angle from the pointer round to the stylus, clockwise.");
        return;
    }
    double lean = isfinite(reseat->offset_deg) ? reseat->offset_deg : 0;
    double phase = atan2(s->record[0].imaginary, s->record[0].real) * 180 / M_PI;
    double direction = fmod(reseat->stylus_deg - lean + phase + 720, 360);
    double off = asin(fmin(1, s->record_off / s->record_amplitude)) * 180 / M_PI;
    DwReading *reading =
        dw_sheet_add_reading(sheet, "reseat.direction", "Long side of the record", direction, "deg", 0);
    reading->uncertainty = isfinite(reseat->offset_deg) ? off : hypot(off, 25);
    dw_reading_set_method(reading, "clockwise from the mark, as the record lay in the first recording");
    double scale = millimetres(reseat);
    if (isfinite(scale))
        dw_sheet_remark(sheet,
                        "To centre the record as it lay at first, push its edge at %.0f degrees clockwise from the "
                        "mark towards the spindle by %.2f mm. The hole's play is %.2f mm: a shift beyond it needs the "
                        "hole eased.",
                        direction, s->record_amplitude * scale, reseat->play_mm);
}

static DwReading *add_mean(DwSheet *sheet, const char *key, const char *label, const double *values, size_t count,
                           const char *method)
{
    DwReading *reading = dw_sheet_add_reading(sheet, key, label, dw_statistics_mean(values, count), "%", 4);
    dw_reading_set_method(reading, method);
    return reading;
}

// The deck's weighted flutter, the record's share taken out of every recording.
static void add_flutter(const DwReseat *reseat, DwSheet *sheet)
{
    double played[DW_SHARES_SEATS_MOST] = {0}, rest[DW_SHARES_SEATS_MOST] = {0};
    bool known = reseat->shares[0].possible && !reseat->shares[0].open;
    for (size_t i = 0; i < reseat->count; i++) {
        const DwReseatPart *part = &reseat->parts[i];
        DwVector record[2] = {{0, 0}, {0, 0}};
        for (size_t k = 0; k < 2; k++)
            if (reseat->shares[k].possible && !reseat->shares[k].open)
                record[k] = dw_shares_record_in(&reseat->shares[k], &part->seat[k]);
        played[i] = part->reading.weighted;
        rest[i] = known ? dw_seating_weighted_without(part->seating, record) : NAN;
    }
    add_mean(sheet, "reseat.weighted", "Weighted flutter as played, two-sigma", played, reseat->count,
             "mean of the recordings");
    if (!known) {
        dw_sheet_not_measured(sheet, "reseat.deck_weighted", "the record's share is not known.");
        return;
    }
    bool second = reseat->shares[1].possible && !reseat->shares[1].open;
    // As played they differ with the seating; the deck alone is the same each time.
    add_mean(sheet, "reseat.deck_weighted", "The deck's weighted flutter, two-sigma", rest, reseat->count,
             second ? "the record's once- and twice-per-revolution share taken out"
                    : "the record's once-per-revolution share taken out")
        ->uncertainty = dw_statistics_mean_uncertainty(rest, reseat->count);
}

static void add_table(const DwReseat *reseat, DwSheet *sheet)
{
    static const char *const columns[] = {"recording|Recording||0",
                                          "angle|Record turned by|deg|1",
                                          "radius|Groove radius|mm|1",
                                          "passes|Mark passes at|s|3",
                                          "turns|Turns measured||1",
                                          "first|Once a revolution|% peak|4",
                                          "second|Twice a revolution|% peak|4",
                                          "weighted|Weighted flutter|%|4",
                                          NULL};
    DwTable *table = dw_sheet_add_table(sheet, "reseat.seatings", "Seatings", columns);
    for (size_t i = 0; i < reseat->count; i++) {
        const DwReseatPart *part = &reseat->parts[i];
        size_t row = dw_table_add_row(table);
        const double values[] = {(double)i + 1,
                                 part->angle_deg,
                                 part->radius_mm,
                                 part->passes_s,
                                 part->reading.turns,
                                 hypot(part->reading.vector[0].real, part->reading.vector[0].imaginary),
                                 hypot(part->reading.vector[1].real, part->reading.vector[1].imaginary),
                                 part->reading.weighted};
        for (size_t column = 0; column < sizeof values / sizeof *values; column++)
            dw_table_set_number(table, row, column, values[column]);
    }
}

static void remark_way(const DwReseat *reseat, DwSheet *sheet)
{
    static const char *const ways[] = {
        [DW_RESEAT_MARK] = "The platter's place was taken from its mark passing the pointer",
        [DW_RESEAT_LABEL] = "The record's place was taken from the mark on its label passing the pointer",
        [DW_RESEAT_CLICK] = "The platter's place was taken from the click that comes once a turn",
        [DW_RESEAT_SCRATCH] = "The record's place was taken from the scratch that is heard once a turn",
    };
    dw_sheet_remark(sheet, "Angles count clockwise seen from above, the way the platter turns.");
    if (reseat->reference != DW_RESEAT_NONE) {
        bool timed = reseat->reference == DW_RESEAT_MARK || reseat->reference == DW_RESEAT_LABEL;
        const char *when = !timed ? "" : reseat->marks_stated ? " at the stated times" : " as each recording begins";
        dw_sheet_remark(sheet, "%s%s.", ways[reseat->reference], when);
        return;
    }
    if (!reseat->shares[0].possible)
        return;
    if (reseat->shares[0].open)
        dw_sheet_remark(sheet,
                        "Without a phase reference the amplitudes of the seatings were used: they give both shares, "
                        "but leave open which is the record's.");
    else
        dw_sheet_remark(sheet,
                        "Without a phase reference the amplitudes of the seatings were used; the bands at different "
                        "radii settled which share is the record's, for it goes as 1 over radius.");
}

// The recordings contradict one another: no share is to be believed before the angles are right.
static void remark_misfit(const DwReseat *reseat, DwSheet *sheet)
{
    DwText fits = {0};
    for (size_t i = 1; isfinite(reseat->angle_fits[0]) && i < reseat->count; i++)
        if (reseat->angle_fits[i] != reseat->parts[i].angle_deg)
            dw_text_add_taken(&fits, fits.length ? ", " : "",
                              dw_saying_phrase("%+.0f degrees for recording %zu", reseat->angle_fits[i], i + 1));
    dw_sheet_remark(sheet,
                    "The recordings do not fit together: %.3f %% is left over. Check the angles, which count clockwise "
                    "seen from above, and the mark's times.",
                    reseat->shares[0].residual);
    if (fits.length)
        dw_sheet_remark(sheet, "With %s they fit: that one may have been turned the other way.", fits.chars);
    dw_text_clear(&fits);
}

static void remark_shares(const DwReseat *reseat, DwSheet *sheet)
{
    const DwShares *s = &reseat->shares[0];
    if (s->possible && isfinite(s->residual)) {
        DwReading *reading =
            dw_sheet_add_reading(sheet, "reseat.residual", "Left over in a recording", s->residual, "% peak", 4);
        dw_reading_set_method(reading, "what the two shares do not explain, rms over the recordings");
    }
    if (!s->possible || s->open)
        return;
    if (reseat->misfit) {
        remark_misfit(reseat, sheet);
        return;
    }
    if (reseat->other_way.possible)
        dw_sheet_remark(sheet,
                        "Two recordings fit whichever way the record was turned. Had it been %+.0f degrees, the record "
                        "would have %.3f %% and the deck %.3f %%. Make sure of the way, or turn by half a turn, where "
                        "it does not matter.",
                        -reseat->parts[1].angle_deg, reseat->other_way.record_amplitude,
                        reseat->other_way.deck_amplitude);
    if (is_nothing(s->deck_amplitude, s->deck_off))
        dw_sheet_remark(sheet, "The deck's own once-per-revolution wow cannot be told from zero.");
    if (is_nothing(s->record_amplitude, s->record_off))
        dw_sheet_remark(sheet, "The record's eccentricity cannot be told from zero.");
    else if (s->record_amplitude > 2 * s->deck_amplitude)
        dw_sheet_remark(sheet,
                        "Most of the once-per-revolution wow is the record's: centre it before judging the deck.");
    else if (s->deck_amplitude > 2 * s->record_amplitude)
        dw_sheet_remark(sheet,
                        "Most of the once-per-revolution wow is the deck's: look at the platter's rim, its seat on "
                        "the sub-platter and the spindle.");
}

void dw_reseat_fill_sheet(const DwReseat *reseat, DwSheet *sheet)
{
    add_shares(reseat, 0, sheet);
    add_eccentricity(reseat, sheet);
    add_direction(reseat, sheet);
    add_shares(reseat, 1, sheet);
    add_flutter(reseat, sheet);
    remark_shares(reseat, sheet);
    add_table(reseat, sheet);
    remark_way(reseat, sheet);
    for (size_t i = 0; i < reseat->count; i++)
        if (!isfinite(reseat->parts[i].reading.vector_off[0])) {
            dw_sheet_remark(sheet, "Recording %zu holds only %.1f turns: record 30 s or more to state an uncertainty.",
                            i + 1, reseat->parts[i].reading.turns);
            break;
        }
}
