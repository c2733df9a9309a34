// SPDX-License-Identifier: MIT
#include "measure/band/azimuth_bands.h"

#include "base/memory.h"
#include "dsp/fit.h"
#include "measure/band/band_doubt.h"
#include "measure/band/channel_faults.h"
#include "measure/band/record_tolerance.h"
#include "physics/azimuth.h"

#include <math.h>
#include <stdlib.h>

static const double WORTHWHILE_DB = 1; // a tilt that gains less is not the cause
static const double WORTHWHILE_DEG = 0.2;
static const double QUADRATURE = 0.7; // share of the leak out of phase that names a coupling
static const double SLOPE_OFF = 0.3;
static const double ONE_WAY = 0.35;         // the lesser leak over the greater
static const double GOES_ONE_WAY = 1.0 / 3; // of leaks that no tilt mends (common practice, no source)
static const double MATTERS_DB = 30;        // a separation above it needs no caution
static const double EXPLAINS = 0.6;         // a tilt that explains less of the leak is not all of it

// What one set of bands says.
typedef struct {
    DwAzimuth azimuth;
    double complex x[2]; // into right with left driven, into left with right driven; NAN without the band
    double scatter_deg, record_deg, one_way_deg; // what makes it uncertain, each 95 %
    double uncertainty_deg;                      // of all of them
    double explained;                            // share of the leaks' power that a tilt explains
    double floor_db;
    bool one_band;  // only one of the two was there
    bool one_way;   // one leak is far less than the other
    bool by_levels; // one of the two was not there; the lateral and the vertical band stand for it
    bool gain_unknown, polarity_unknown, reversed, swapped;
} Finding;

// The right channel's gain over the left's, as far as the bands tell.
static double gain_of(const DwChannelRoles *roles, const size_t channel[2], bool *unknown)
{
    const DwToneBand *band = roles->band;
    *unknown = false;
    if (roles->has[DW_BAND_LEFT] && roles->has[DW_BAND_RIGHT])
        return dw_tone_band_level(&band[DW_BAND_RIGHT], channel[1], NULL) /
               dw_tone_band_level(&band[DW_BAND_LEFT], channel[0], NULL);
    if (roles->has[DW_BAND_LATERAL])
        return dw_tone_band_level(&band[DW_BAND_LATERAL], channel[1], NULL) /
               dw_tone_band_level(&band[DW_BAND_LATERAL], channel[0], NULL);
    *unknown = true;
    return 1;
}

// The tilt by the levels of the lateral and the vertical band, which a leak alike both ways does not touch.
// *GAIN: the right channel's over the left's. Returned: false without both bands.
static bool find_by_levels(const DwChannelRoles *roles, bool swapped, double *rotation_deg, double *gain)
{
    double ratio_db[2], gain_db;
    if (!roles->has[DW_BAND_LATERAL] || !roles->has[DW_BAND_VERTICAL])
        return false;
    for (size_t i = 0; i < 2; i++) {
        const DwToneBand *band = &roles->band[i == 0 ? DW_BAND_LATERAL : DW_BAND_VERTICAL];
        ratio_db[i] = 20 * log10(dw_tone_band_level(band, swapped, NULL) / dw_tone_band_level(band, !swapped, NULL));
    }
    *rotation_deg = dw_azimuth_by_balance(ratio_db[0], ratio_db[1], &gain_db);
    *gain = pow(10, -gain_db / 20);
    return true;
}

// Makes up the leak of a one-sided band that is not there from a tilt known otherwise: what is left of the other's
// is taken to go both ways alike.
static void make_up(Finding *finding, double rotation_deg)
{
    double tilt = tan(rotation_deg * M_PI / 180);
    bool no_right = isnan(creal(finding->x[0]));
    finding->x[!no_right] = no_right ? finding->x[1] + 2 * tilt : finding->x[0] - 2 * tilt;
    finding->by_levels = true;
}

static void explain(Finding *finding, const double noise[2])
{
    double complex right = finding->x[0], left = finding->x[1];
    finding->one_band = isnan(creal(right)) || isnan(creal(left));
    if (isnan(creal(right)))
        right = -conj(left); // as if all of it were rotation
    if (isnan(creal(left)))
        left = -conj(right);
    finding->azimuth = dw_azimuth_explain(right, left);
    double spread = finding->one_band || finding->by_levels ? fmax(noise[0], noise[1]) : hypot(noise[0], noise[1]) / 2;
    finding->scatter_deg = spread * 180 / M_PI;
    finding->floor_db = -20 * log10(fmax(noise[0], noise[1]));
}

// How much of what is off by a spread of DEVIATION about MIDDLE lies below AT.
static double below(double at, double middle, double deviation)
{
    return 0.5 * erfc((middle - at) / (M_SQRT2 * deviation));
}

// The half-width that holds 95 of 100 of what is off by a spread of DEVIATION and in GOES_ONE_WAY of the cases by
// ONE_WAY beside it. Reference: the quantile of the mixture, JCGM 101:2008, 7.7 (from memory).
static double mixed_off(double deviation, double one_way)
{
    double low = 0, high = one_way + 4 * deviation;
    for (int i = 0; i < 50; i++) {
        double middle = (low + high) / 2;
        double beside = below(middle, one_way, deviation) - below(-middle, one_way, deviation),
               about = below(middle, 0, deviation) - below(-middle, 0, deviation);
        *(GOES_ONE_WAY * beside + (1 - GOES_ONE_WAY) * about < 0.95 ? &low : &high) = middle;
    }
    return high;
}

// A tilt moves both leaks, in opposite sign. What the record itself leaks cannot be told from it. Nor can what
// leaks one way only: half of it passes for a tilt, half for a leak that goes both ways, and two numbers do not part
// three causes. So all of the leak that no tilt mends may be in the tilt too, where the record does not explain it;
// most leaks go both ways, and are not.
static void add_record(Finding *finding, const DwAzimuthSettings *settings)
{
    double leak = dw_record_tolerance_leak(settings->crosstalk_db);
    double right = cabs(finding->x[0]), left = cabs(finding->x[1]),
           way = tan(finding->azimuth.rotation_deg * M_PI / 180);
    double of_record = 1.96 * leak / sqrt(finding->one_band ? 1 : 2),
           both_ways = fabs(creal(finding->azimuth.symmetric)); // out of phase it passes for none
    finding->record_deg = of_record * 180 / M_PI;
    finding->explained = finding->one_band ? NAN : fmin(1, 2 * way * way / (right * right + left * left));
    finding->one_way = !finding->one_band && fmin(right, left) < ONE_WAY * fmax(right, left);
    if (finding->one_band) // all of the one leak may be none of a tilt's
        both_ways = fmax(isnan(right) ? 0 : fabs(creal(finding->x[0])), isnan(left) ? 0 : fabs(creal(finding->x[1])));
    finding->one_way_deg = both_ways > of_record ? both_ways * 180 / M_PI : 0;
    // The record's share of the leak is in that too.
    double record_deg = finding->record_deg * (finding->one_way_deg > 0 ? sqrt(2) : 1);
    finding->uncertainty_deg = mixed_off(hypot(finding->scatter_deg, record_deg) / 1.96, finding->one_way_deg);
}

// Returned: false where neither one-sided band is there, or a channel is dead or strapped.
static bool find(const DwChannelRoles *roles, const DwAzimuthSettings *settings, Finding *finding)
{
    DwChannelFaults faults = dw_channel_faults_of(roles, settings->side);
    bool has = roles->has[DW_BAND_LEFT] || roles->has[DW_BAND_RIGHT];
    if (!has || dw_channel_faults_leave_one(&faults))
        return false;
    *finding = (Finding){.x = {NAN, NAN}, .swapped = faults.swapped};
    size_t channel[2] = {finding->swapped, !finding->swapped};
    finding->polarity_unknown = !faults.polarity_known;
    finding->reversed = faults.reversed;
    int polarity = faults.reversed ? -1 : 1;
    double gain = gain_of(roles, channel, &finding->gain_unknown), noise[2] = {NAN, NAN}, rotation_deg;
    bool one = !roles->has[DW_BAND_LEFT] || !roles->has[DW_BAND_RIGHT];
    bool by_levels = find_by_levels(roles, faults.swapped, &rotation_deg, one ? &gain : &(double){0});
    if (roles->has[DW_BAND_LEFT]) {
        DwToneEstimate leak = dw_tone_band_ratio(&roles->band[DW_BAND_LEFT], channel[1], 0, channel[0]);
        finding->x[0] = polarity * leak.mean / gain;
        noise[0] = leak.uncertainty / gain;
    }
    if (roles->has[DW_BAND_RIGHT]) {
        DwToneEstimate leak = dw_tone_band_ratio(&roles->band[DW_BAND_RIGHT], channel[0], 0, channel[1]);
        finding->x[1] = polarity * leak.mean * gain;
        noise[1] = leak.uncertainty * gain;
    }
    if (one && by_levels)
        make_up(finding, rotation_deg);
    explain(finding, noise);
    add_record(finding, settings);
    return true;
}

// --- what to do about it -----------------------------------------------------------

static void remark_turn(double rotation_deg, double turn_deg, const DwAzimuthSettings *settings, DwSheet *sheet)
{
    const char *way = turn_deg > 0 ? "clockwise" : "anticlockwise";
    const char *top = turn_deg > 0 ? "outward, away from the spindle" : "inward, towards the spindle";
    dw_sheet_remark(sheet, "Turn the headshell %s seen from the front by %.2f°: its top goes %s.", way, fabs(turn_deg),
                    top);
    if (fabs(turn_deg) < fabs(rotation_deg))
        dw_sheet_caution(
            sheet,
            "The crosstalk asks for a turn of %.1f°, but no tilt beyond %g° is advised (azimuth.limit): the "
            "stylus or the coils sit askew in the cartridge, and the tip would stand askew in the groove.",
            fabs(rotation_deg), settings->limit_deg);
    if (isnan(settings->width_mm)) {
        dw_sheet_not_measured(sheet, "azimuth.shim",
                              "Give azimuth.width, across the cartridge's seat in the headshell.");
        return;
    }
    dw_sheet_add_estimate(sheet, "azimuth.shim", "Shim between cartridge and headshell",
                          dw_azimuth_shim_mm(turn_deg, settings->width_mm), "mm", 2, NAN, "width × tan(turn)");
    dw_sheet_remark(sheet, "With a shim: on the side %s, between cartridge and headshell, at the edge.",
                    turn_deg > 0 ? "away from the spindle (right seen from the front)"
                                 : "towards the spindle (left seen from the front)");
}

static void remark_no_tilt(const Finding *finding, DwSheet *sheet)
{
    double complex leak = finding->azimuth.symmetric;
    bool coupled = fabs(cimag(leak)) > QUADRATURE * cabs(leak);
    dw_sheet_remark(sheet,
                    "Tilt is not the cause of the crosstalk: turning would gain less than %g dB. The leaks %s, as "
                    "%s. Leave the headshell as it is.",
                    WORTHWHILE_DB, coupled ? "are out of phase" : "have the same sign",
                    coupled ? "coupling between the channels or a time offset makes them"
                            : "cross-coupling, a mono strap half made or a poor cartridge makes them");
}

static double worse(const double decibels[2])
{
    return fmin(decibels[0], decibels[1]);
}

static const char would_tell[] = "Leave the headshell as it is. A mirror under the stylus, or recordings at two or "
                                 "three tilts (azimuth.tilt), would tell.";

static void remark_cannot_tell(double rotation_deg, double uncertainty_deg, DwSheet *sheet)
{
    dw_sheet_not_measured(sheet, "azimuth.shim", "No tilt is advised, so no shim is.");
    dw_sheet_remark(
        sheet,
        "Cannot tell whether a tilt makes the crosstalk: the turn of %.2f° lies within its ± of %.2f°, and a "
        "leak one way only would look the same. %s",
        fabs(rotation_deg), uncertainty_deg, would_tell);
}

static void advise(const Finding *finding, double rotation_deg, double uncertainty_deg, double turn_deg,
                   const DwAzimuthSettings *settings, DwSheet *sheet)
{
    const DwAzimuth *azimuth = &finding->azimuth;
    double within = fmax(WORTHWHILE_DEG, hypot(finding->scatter_deg, finding->record_deg));
    if (dw_band_doubt_beyond_grooves(azimuth->separation_db, sheet)) {
        dw_sheet_not_measured(sheet, "azimuth.shim", "No tilt is advised, so no shim is.");
        dw_sheet_reading(sheet, "azimuth.rotation")->flags |= DW_FLAG_APPROXIMATE;
        return;
    }
    if (finding->one_band && fabs(rotation_deg) <= finding->uncertainty_deg) {
        dw_sheet_not_measured(sheet, "azimuth.shim", "One band alone does not tell a tilt from a leak.");
        dw_sheet_remark(sheet, "Record the other one-sided band, or the lateral and the vertical one, before the "
                               "headshell is turned.");
        return;
    }
    bool upright = fabs(rotation_deg) <= within;
    double gain = worse(azimuth->possible_db) - worse(azimuth->separation_db);
    if (!upright && gain >= WORTHWHILE_DB) {
        if (fabs(rotation_deg) > uncertainty_deg)
            remark_turn(rotation_deg, turn_deg, settings, sheet);
        else
            remark_cannot_tell(rotation_deg, uncertainty_deg, sheet);
        return;
    }
    dw_sheet_not_measured(sheet, "azimuth.shim", "No tilt is advised, so no shim is.");
    if (upright && worse(azimuth->possible_db) > 25 && uncertainty_deg > settings->limit_deg)
        dw_sheet_remark(sheet,
                        "Cannot tell whether the azimuth is right: no tilt shows, but its ± of %.2f° is more than the "
                        "%g° that is the most advised. %s",
                        uncertainty_deg, settings->limit_deg, would_tell);
    else if (upright && worse(azimuth->possible_db) > 25)
        dw_sheet_remark(sheet, "The azimuth is right within %.2f°.", fmax(WORTHWHILE_DEG, uncertainty_deg));
    else
        remark_no_tilt(finding, sheet);
}

static void remark_doubts(const Finding *finding, DwSheet *sheet)
{
    if (finding->swapped)
        dw_sheet_remark(sheet,
                        "Left and right come out exchanged; the tilt is worked out as for swapped leads. If it is "
                        "the plan or the order of the bands that has them exchanged, turn the other way.");
    if (finding->reversed)
        dw_sheet_remark(sheet, "One channel is reversed, which turns the sign of the leaks; the tilt is worked out as "
                               "if that were put right.");
    if (finding->polarity_unknown)
        dw_sheet_remark(sheet, "No band of both channels was found, so the polarity is taken as right. A reversed "
                               "channel would turn the direction round: check it with channels.");
    if (finding->by_levels)
        dw_sheet_remark(sheet,
                        "One of the one-sided bands was not found: the tilt is told by the levels of the lateral "
                        "and the vertical band as well.");
    if (finding->one_band)
        dw_sheet_remark(sheet, "Only one one-sided band was found: a leak that is not tilt cannot be told from tilt%s.",
                        finding->gain_unknown ? ", and the channels' gains are taken as equal" : "");
}

// --- readings -----------------------------------------------------------------------

static void add_finding(const Finding *finding, double rotation_deg, double uncertainty_deg, DwSheet *sheet)
{
    DwReading *reading =
        dw_sheet_add_estimate(sheet, "azimuth.rotation", "Turn that undoes the tilt, clockwise seen from the front",
                              rotation_deg, "deg", 2, uncertainty_deg, "antisymmetric part of the crosstalk");
    if (finding->one_band || finding->by_levels || finding->polarity_unknown)
        reading->flags |= DW_FLAG_APPROXIMATE;
    if (finding->one_band) {
        dw_sheet_not_measured(sheet, "azimuth.separation_possible", "It takes the left and the right band.");
        return;
    }
    double possible = worse(finding->azimuth.possible_db);
    reading = dw_sheet_add_estimate(sheet, "azimuth.separation_possible", "Separation with the tilt undone",
                                    fmin(possible, finding->floor_db), "dB", 1, NAN,
                                    "crosstalk left when the rotation is taken out; the worse direction");
    if (possible > finding->floor_db - 6)
        reading->flags |= DW_FLAG_NOISY;
    dw_sheet_add_estimate(sheet, "azimuth.leak", "Leak that no tilt mends",
                          -20 * log10(cabs(finding->azimuth.symmetric)), "dB", 1, NAN,
                          "symmetric part of the crosstalk, below the tone");
}

static void add_balance_check(const DwChannelRoles *roles, const DwAzimuthSettings *settings, DwSheet *sheet)
{
    double rotation, gain;
    DwChannelFaults faults = dw_channel_faults_of(roles, settings->side);
    if (!dw_channel_faults_leave_one(&faults) && find_by_levels(roles, faults.swapped, &rotation, &gain))
        dw_sheet_add_estimate(sheet, "azimuth.rotation_balance", "The same by level of lateral and vertical", rotation,
                              "deg", 2, NAN, "left over right in the lateral and the vertical band");
}

// What the ± is made of, and how far a tilt explains the leak.
static void add_budget(const Finding *finding, const DwAzimuthSettings *settings, DwSheet *sheet)
{
    static const char *const head[] = {"what|Share of the ±, 95 %||", "rotation|Turn|deg|2", NULL};
    const char *words[] = {"scatter of the leaks",
                           isnan(settings->crosstalk_db) ? "the record's own crosstalk, 48 dB rms taken"
                                                         : "the record's own crosstalk, as stated",
                           "a leak one way only, which looks the same"};
    const double shares[] = {finding->scatter_deg, finding->record_deg, finding->one_way_deg};
    DwTable *table = dw_sheet_add_table(sheet, "azimuth.budget", "What the ± is made of", head);
    for (size_t i = 0; i < sizeof shares / sizeof *shares; i++) {
        size_t row = dw_table_add_row(table);
        dw_table_set_word(table, row, 0, words[i]);
        dw_table_set_number(table, row, 1, shares[i]);
    }
    if (finding->one_band)
        return;
    dw_sheet_add_estimate(sheet, "azimuth.explained", "Share of the leaks that a tilt explains",
                          100 * finding->explained, "%", 0, NAN, "power of their antisymmetric part over all");
    bool matters = worse(finding->azimuth.separation_db) < MATTERS_DB;
    if (finding->one_way && matters)
        dw_sheet_caution(sheet,
                         "One channel leaks into the other far more than back. A tilt moves both leaks alike, so it "
                         "is not the whole cause: look at leads, clips and coils, and at the stylus in a mirror, "
                         "before the headshell is turned.");
    else if (finding->explained < EXPLAINS && matters)
        dw_sheet_caution(sheet, "A tilt explains %.0f %% of the leaks; the rest stays whatever the headshell does.",
                         100 * finding->explained);
}

static const char *const columns[] = {"tilt|Tilt set|deg|2",     "rotation|Turn needed|deg|2",
                                      "uncertainty|±|deg|2",     "right|Left driven, into right|dB|1",
                                      "right_phase|Phase|deg|0", "left|Right driven, into left|dB|1",
                                      "left_phase|Phase|deg|0",  NULL};

static void add_row(DwTable *table, double tilt_deg, const Finding *finding)
{
    size_t row = dw_table_add_row(table);
    dw_table_set_number(table, row, 0, tilt_deg);
    dw_table_set_number(table, row, 1, finding->azimuth.rotation_deg);
    dw_table_set_number(table, row, 2, finding->uncertainty_deg);
    for (size_t i = 0; i < 2; i++) {
        dw_table_set_number(table, row, 3 + 2 * i, 20 * log10(cabs(finding->x[i])));
        dw_table_set_number(table, row, 4 + 2 * i, carg(finding->x[i]) * 180 / M_PI);
    }
}

static double within(double value, double limit)
{
    return fmax(-limit, fmin(limit, value));
}

static const char *const keys[] = {"azimuth.rotation", "azimuth.separation_possible", "azimuth.shim"};

static void add_not_measured(const DwChannelRoles *roles, const DwAzimuthSettings *settings, DwSheet *sheet)
{
    DwChannelFaults faults = dw_channel_faults_of(roles, settings->side);
    char *words = dw_channel_faults_words(&faults);
    bool has = roles->has[DW_BAND_LEFT] || roles->has[DW_BAND_RIGHT];
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        if (!has)
            dw_sheet_not_measured(sheet, keys[i], "%s", dw_channel_roles_missing(roles, DW_BAND_LEFT));
        else
            dw_sheet_not_measured(sheet, keys[i], "The channels are at fault first: %s.", words);
    free(words);
}

static DwStatus read_one(DwBandSet *set, const DwNamedBand *named, size_t named_count,
                         const DwAzimuthSettings *settings, DwSheet *sheet, DwMessage *message)
{
    DwChannelRoles roles;
    DwStatus status = dw_channel_roles_find(set, named, named_count, settings->left_first, &roles, message);
    if (status != DW_OK)
        return status;
    Finding finding;
    if (!find(&roles, settings, &finding)) {
        add_not_measured(&roles, settings, sheet);
        add_balance_check(&roles, settings, sheet);
        return DW_OK;
    }
    double rotation = finding.azimuth.rotation_deg;
    add_finding(&finding, rotation, finding.uncertainty_deg, sheet);
    add_budget(&finding, settings, sheet);
    advise(&finding, rotation, finding.uncertainty_deg, within(rotation, settings->limit_deg), settings, sheet);
    add_balance_check(&roles, settings, sheet);
    remark_doubts(&finding, sheet);
    add_row(dw_sheet_add_table(sheet, "azimuth.sets", "Crosstalk at the tone", columns), NAN, &finding);
    return DW_OK;
}

// The straight line rotation = LEVEL + SLOPE · tilt by least squares; a SLOPE of 0 where all tilts are alike.
static void fit_line(const double *tilt, const Finding *findings, size_t count, double *level, double *slope)
{
    double *rotation = dw_memory_new(count, sizeof *rotation);
    for (size_t i = 0; i < count; i++)
        rotation[i] = findings[i].azimuth.rotation_deg;
    DwHarmonicFit line = dw_fit_harmonics(tilt, rotation, NULL, count, 1, 0);
    *slope = line.slope;
    *level = line.level - line.slope * line.centre;
    free(rotation);
}

static void read_fit(const double *tilt, const Finding *findings, size_t count, const DwAzimuthSettings *settings,
                     DwSheet *sheet)
{
    double level, slope, worst = 0;
    fit_line(tilt, findings, count, &level, &slope);
    for (size_t i = 0; i < count; i++)
        worst =
            fmax(worst, hypot(findings[i].azimuth.rotation_deg - level - slope * tilt[i], findings[i].uncertainty_deg));
    const Finding *last = &findings[count - 1];
    if (!(slope < -SLOPE_OFF)) {
        dw_sheet_not_measured(sheet, "azimuth.best_tilt",
                              "The crosstalk does not follow the tilts given. Check their "
                              "signs (clockwise seen from the front) and their order.");
        add_finding(last, last->azimuth.rotation_deg, last->uncertainty_deg, sheet);
        dw_sheet_not_measured(sheet, "azimuth.shim", "The crosstalk does not follow the tilts given.");
        return;
    }
    double best = -level / slope, limited = within(best, settings->limit_deg), now = tilt[count - 1];
    dw_sheet_add_estimate(sheet, "azimuth.best_tilt", "Best tilt of those tried, clockwise seen from the front", best,
                          "deg", 2, worst / -slope, "straight line through the sets");
    if (fabs(slope + 1) > SLOPE_OFF)
        dw_sheet_remark(sheet, "One degree of tilt changed the crosstalk as %.2f° would; the angles set may be off.",
                        -slope);
    add_finding(last, best - now, worst / -slope, sheet);
    advise(last, best - now, worst / -slope, limited - now, settings, sheet);
}

static DwStatus read_several(DwBandSet *set, const DwAzimuthSettings *settings, DwSheet *sheet, DwMessage *message)
{
    DwStatus status = dw_band_set_check(set, message);
    if (status != DW_OK)
        return status;
    size_t count, used = 0, first = 0;
    const DwToneBand *bands = dw_band_set_bands(set, &count);
    Finding *findings = dw_memory_new(settings->tilt_count, sizeof *findings);
    double *tilt = dw_memory_new(settings->tilt_count, sizeof *tilt);
    for (size_t r = 0; r < settings->tilt_count; r++) {
        size_t end = first;
        while (end < count && bands[end].recording == r)
            end++;
        DwChannelRoles roles = dw_channel_roles_by_content(bands + first, end - first, settings->left_first);
        first = end;
        tilt[used] = settings->tilt_deg[r];
        if (find(&roles, settings, &findings[used]) && !findings[used].one_band)
            used++;
        else
            dw_sheet_remark(sheet, "Recording %zu, at %g°, lacks a one-sided band and was left out.", r + 1,
                            settings->tilt_deg[r]);
    }
    if (used >= 2) {
        read_fit(tilt, findings, used, settings, sheet);
        remark_doubts(&findings[used - 1], sheet);
        DwTable *table = dw_sheet_add_table(sheet, "azimuth.sets", "Crosstalk at the tone", columns);
        for (size_t i = 0; i < used; i++)
            add_row(table, tilt[i], &findings[i]);
    } else
        status = dw_fail(message, DW_BAD_INPUT,
                         "Fewer than two of the recordings hold a left and a right band. Record both at each tilt.");
    free(findings);
    free(tilt);
    return status;
}

DwStatus dw_azimuth_bands_read(DwBandSet *set, const DwNamedBand *named, size_t named_count,
                               const DwAzimuthSettings *settings, DwSheet *sheet, DwMessage *message)
{
    if (dw_band_set_channels(set) == 1) {
        DwStatus status = dw_band_set_check(set, message);
        for (size_t i = 0; status == DW_OK && i < sizeof keys / sizeof *keys; i++)
            dw_sheet_not_measured(sheet, keys[i], "The recording has one channel. Record both.");
        return status;
    }
    if (settings->tilt_count)
        return read_several(set, settings, sheet, message);
    return read_one(set, named, named_count, settings, sheet, message);
}
