// SPDX-License-Identifier: MIT
// From levels against frequency to curves, table and remarks.
#include "measure/sweep/response_analysis.h"
#include "measure/sweep/response_fit.h"
#include "measure/sweep/response_points.h"

#include "base/tongue.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const names[2] = {"left", "right"};
static const double NEAR = 0.03; // a spot this near to a frequency stands for it

// One channel, counted over its level at 1 kHz.
typedef struct {
    bool there;
    double zero_db; // what was taken off
    double zero_hz;
    DwResponseLine line;
} Channel;

// The level of LINE near FREQUENCY_HZ: of the spot there, or by straight lines.
static double level_near(const DwResponseLine *line, double frequency_hz, bool crosstalk)
{
    const double *values = crosstalk ? line->crosstalk_db : line->level_db;
    for (size_t i = 0; i < line->count; i++)
        if (line->spots && fabs(line->frequency_hz[i] / frequency_hz - 1) < NEAR)
            return values[i];
    return NAN;
}

// Takes off the record's cut, the chain's equalisation and the level at 1 kHz,
// or at the frequency nearest to it that was played.
static Channel read_channel(const DwResponse *response, size_t channel)
{
    Channel read = {.zero_hz = 1000};
    read.there = dw_response_line(response, channel, &read.line);
    if (!read.there)
        return read;
    DwResponseLine *line = &read.line;
    for (size_t i = 0; i < line->count; i++)
        line->level_db[i] -= dw_response_expected_db(&response->settings, line->frequency_hz[i]);
    double crosstalk;
    if (line->spots)
        read.zero_db = level_near(line, 1000, false);
    else
        dw_response_at(response, channel, 1000, &read.zero_db, &crosstalk);
    if (isnan(read.zero_db)) {
        size_t nearest = 0;
        for (size_t i = 1; i < line->count; i++)
            if (fabs(log(line->frequency_hz[i] / 1000)) < fabs(log(line->frequency_hz[nearest] / 1000)))
                nearest = i;
        read.zero_db = line->level_db[nearest];
        read.zero_hz = line->frequency_hz[nearest];
    }
    for (size_t i = 0; i < line->count; i++)
        line->level_db[i] -= read.zero_db;
    return read;
}

static void add_curve(DwSheet *sheet, const char *key, const char *label, const char *unit, const DwResponseLine *line,
                      const double *values)
{
    DwCurve *curve = dw_sheet_add_curve(sheet, key, label, (DwAxis){"Frequency", "Hz"}, (DwAxis){"Level", (char *)unit},
                                        line->count);
    memcpy(curve->x_values, line->frequency_hz, line->count * sizeof(double));
    memcpy(curve->y_values, values, line->count * sizeof(double));
}

static const char *why_missing(const DwResponse *response, size_t channel)
{
    if (!response->has_stereo)
        return response->settings.channel == DW_RESPONSE_AUTO
                   ? "only one channel was heard, shown as the left one; response.channel names another."
                   : "only one channel is heard.";
    return channel ? "no band that drives the right channel was found."
                   : "no band that drives the left channel was found.";
}

static void add_curves(const DwResponse *response, const Channel channels[2], DwSheet *sheet)
{
    for (size_t c = 0; c < 2; c++) {
        char key[40], label[60];
        snprintf(key, sizeof key, "response.%s", names[c]);
        snprintf(label, sizeof label, "Response, %s", names[c]);
        if (channels[c].there)
            add_curve(sheet, key, label, channels[c].zero_hz == 1000 ? "dB re 1 kHz" : "dB", &channels[c].line,
                      channels[c].line.level_db);
        else
            dw_sheet_not_measured(sheet, key, "%s", why_missing(response, c));
    }
    for (size_t c = 0; c < 2; c++) {
        char key[40], label[80];
        snprintf(key, sizeof key, "response.crosstalk_%s", names[c]);
        snprintf(label, sizeof label, "Crosstalk, %s driven", names[c]);
        if (!channels[c].there || !response->has_stereo)
            dw_sheet_not_measured(sheet, key, "%s", why_missing(response, c));
        else if (channels[c].line.both)
            dw_sheet_not_measured(
                sheet, key, "the band drives both channels; crosstalk needs one that drives the %s alone.", names[c]);
        else
            add_curve(sheet, key, label, "dB", &channels[c].line, channels[c].line.crosstalk_db);
    }
}

static const double thirds_hz[] = {20,   25,   31.5, 40,   50,   63,    80,    100,   125,  160,  200,
                                   250,  315,  400,  500,  630,  800,   1000,  1250,  1600, 2000, 2500,
                                   3150, 4000, 5000, 6300, 8000, 10000, 12500, 16000, 20000};
enum { THIRDS = sizeof thirds_hz / sizeof *thirds_hz };

// Level and crosstalk of CHANNEL at FREQUENCY_HZ, as its curves count.
static void read_at(const DwResponse *response, const Channel *channel, size_t number, double frequency_hz,
                    double *level, double *crosstalk)
{
    *level = *crosstalk = NAN;
    if (!channel->there)
        return;
    if (channel->line.spots) {
        *level = level_near(&channel->line, frequency_hz, false);
        *crosstalk = level_near(&channel->line, frequency_hz, true);
        return;
    }
    dw_response_at(response, number, frequency_hz, level, crosstalk);
    *level -= dw_response_expected_db(&response->settings, frequency_hz) + channel->zero_db;
}

// Two bands are cut unevenly each; one that drives both is as uneven for either.
static double off_of_both(const Channel channels[2])
{
    return channels[0].line.both && channels[1].line.both ? 0 : sqrt(2);
}

// The larger ± of the crosstalks that are told; NAN with none.
static double crosstalk_off(const DwResponse *response, const double crosstalk_db[2], double hz)
{
    double most = NAN;
    for (size_t c = 0; c < 2; c++)
        if (isfinite(crosstalk_db[c]))
            most = fmax(most, dw_response_crosstalk_off_db(response, c, hz));
    return most;
}

static void add_table(const DwResponse *response, const Channel channels[2], DwSheet *sheet)
{
    static const char *const columns[] = {"frequency|Frequency|Hz|1",
                                          "left|Left|dB|2",
                                          "right|Right|dB|2",
                                          "crosstalk_left|Crosstalk, left driven|dB|1",
                                          "crosstalk_right|Crosstalk, right driven|dB|1",
                                          "crosstalk_uncertainty|± of crosstalk, the larger|dB|1",
                                          "difference|Right over left|dB|2",
                                          "uncertainty|± of a channel|dB|2",
                                          "difference_uncertainty|± of right over left|dB|2",
                                          NULL};
    const DwResponseLine *spots = channels[0].there && channels[0].line.spots   ? &channels[0].line
                                  : channels[1].there && channels[1].line.spots ? &channels[1].line
                                                                                : NULL;
    DwTable *table =
        dw_sheet_add_table(sheet, "response.thirds", spots ? "At the tones played" : "At third octaves", columns);
    for (size_t i = 0; i < (spots ? spots->count : THIRDS); i++) {
        double hz = spots ? spots->frequency_hz[i] : thirds_hz[i], values[4];
        for (size_t c = 0; c < 2; c++)
            read_at(response, &channels[c], c, hz, &values[c], &values[2 + c]);
        if (hz > response->top_hz || (isnan(values[0]) && isnan(values[1])))
            continue;
        size_t row = dw_table_add_row(table);
        dw_table_set_number(table, row, 0, hz);
        for (size_t v = 0; v < 4; v++)
            dw_table_set_number(table, row, 1 + v, values[v]);
        double off_db = fabs(hz / 1000 - 1) < NEAR ? 0 : dw_response_cut_off_db(hz);
        dw_table_set_number(table, row, 5, crosstalk_off(response, &values[2], hz));
        dw_table_set_number(table, row, 6, values[1] - values[0]);
        dw_table_set_number(table, row, 7, off_db);
        dw_table_set_number(table, row, 8, isnan(values[1] - values[0]) ? NAN : off_db * off_of_both(channels));
    }
}

// Right over left at each point of the left line.
static void add_difference(const DwResponse *response, const Channel channels[2], DwSheet *sheet)
{
    const DwResponseLine *line = &channels[0].line;
    if (!channels[0].there || !channels[1].there) {
        dw_sheet_not_measured(sheet, "response.difference", "it takes both channels.");
        return;
    }
    DwCurve *curve =
        dw_sheet_add_curve(sheet, "response.difference", "Right over left", (DwAxis){"Frequency", "Hz"},
                           (DwAxis){"Level", channels[0].zero_hz == 1000 ? "dB re 1 kHz" : "dB"}, line->count);
    for (size_t i = 0; i < line->count; i++) {
        double level, crosstalk;
        read_at(response, &channels[1], 1, line->frequency_hz[i], &level, &crosstalk);
        curve->x_values[i] = line->frequency_hz[i];
        curve->y_values[i] = level - line->level_db[i];
    }
}

// The greatest departure from the level at 1 kHz, with its sign, 100 Hz to 10 kHz.
static void add_departure(const Channel *channel, size_t number, bool suspect, DwSheet *sheet)
{
    char key[40], label[80];
    double most = 0, most_hz = 1000, low = NAN, high = NAN;
    snprintf(key, sizeof key, "response.departure_%s", names[number]);
    snprintf(label, sizeof label, "%s, %s", N_("Greatest departure 100 Hz to 10 kHz"), names[number]);
    for (size_t i = 0; channel->there && i < channel->line.count; i++) {
        double hz = channel->line.frequency_hz[i], level = channel->line.level_db[i];
        if (hz < 97 || hz > 10300)
            continue;
        low = isnan(low) ? hz : low;
        high = hz;
        if (fabs(level) > fabs(most)) {
            most = level;
            most_hz = hz;
        }
    }
    if (!(low < 130 && high > 7900)) {
        dw_sheet_not_measured(sheet, key, "100 Hz to 10 kHz was not played, or not on this channel.");
        return;
    }
    DwReading *reading =
        dw_sheet_add_estimate(sheet, key, label, most, "dB", 1, dw_response_cut_off_db(most_hz),
                              "curve against its level at 1 kHz, record's cut and equalisation taken off");
    if (suspect || channel->zero_hz != 1000)
        reading->flags |= DW_FLAG_APPROXIMATE;
}

static const char *shape_words(DwResponseShape shape)
{
    switch (shape) {
    case DW_RESPONSE_SHAPE_NONE:
        return "";
    case DW_RESPONSE_SHAPE_RIAA_TWICE:
        return "has the shape of an RIAA replay curve: equalisation was applied twice, or response.riaa or "
               "response.cut "
               "is stated wrong.";
    case DW_RESPONSE_SHAPE_RIAA_MISSING:
        return "has the shape of an RIAA recording curve: replay equalisation was not applied, or response.riaa or "
               "response.cut is stated wrong.";
    case DW_RESPONSE_SHAPE_TREBLE_CUT:
        return "falls as 75 µs do: the record was cut without treble lift (response.cut=bass), or treble equalisation "
               "was applied twice.";
    case DW_RESPONSE_SHAPE_TREBLE_LIFT:
        return "rises as 75 µs do: treble equalisation is missing, or response.cut is stated wrong.";
    }
    return "";
}

static void remark_method(const DwResponse *response, const Channel channels[2], DwSheet *sheet)
{
    static const char *const cuts[] = {"cut to the RIAA curve", "cut to 318 and 3180 µs only",
                                       "cut at constant velocity", "cut at constant amplitude"};
    dw_sheet_remark(sheet, "Counted for a record %s, recorded %s.", cuts[response->settings.cut],
                    response->settings.equalised ? "behind replay equalisation" : "without replay equalisation");
    for (size_t c = 0; c < 2; c++) {
        const Channel *channel = &channels[c];
        if (!channel->there)
            continue;
        const DwResponseLine *line = &channel->line;
        if (channel->zero_hz != 1000)
            dw_sheet_remark(sheet, "1 kHz was not played on the %s channel; its levels count from %.0f Hz.", names[c],
                            channel->zero_hz);
        if (line->spots)
            dw_sheet_remark(sheet, "The %s channel was read at %zu steady tones, without smoothing.", names[c],
                            line->count);
        else
            dw_sheet_remark(
                sheet, "The %s channel was read from a sweep, %.0f to %.0f Hz, smoothed over 1/%.0f octave.", names[c],
                line->frequency_hz[0], line->frequency_hz[line->count - 1], response->settings.parts);
        if (line->frequency_hz[line->count - 1] < fmin(15000, 0.9 * response->top_hz))
            dw_sheet_not_measured(sheet, c ? "right treble" : "left treble", "nothing was played above %.0f Hz.",
                                  line->frequency_hz[line->count - 1]);
    }
}

DwStatus dw_response_read(const DwResponse *response, DwSheet *sheet, DwMessage *message)
{
    if (response->bad)
        return dw_fail(message, DW_BAD_INPUT,
                       "%zu samples are not numbers (NaN or infinite). Export the recording again.", response->bad);
    Channel channels[2] = {read_channel(response, 0), read_channel(response, 1)};
    if (!channels[0].there && !channels[1].there)
        return dw_fail(message, DW_BAD_INPUT,
                       "No sweep and no steady tones were found. Record the frequency band of a "
                       "test record, or give record.start and record.end.");
    add_curves(response, channels, sheet);
    add_difference(response, channels, sheet);
    add_table(response, channels, sheet);
    bool suspect = false;
    for (size_t c = 0; c < 2; c++) {
        DwResponseShape shape = channels[c].there ? dw_response_shape(&channels[c].line) : DW_RESPONSE_SHAPE_NONE;
        if (shape != DW_RESPONSE_SHAPE_NONE)
            dw_sheet_remark(sheet, "The %s response %s", names[c], shape_words(shape));
        suspect = suspect || shape != DW_RESPONSE_SHAPE_NONE;
    }
    for (size_t c = 0; c < 2; c++)
        add_departure(&channels[c], c, suspect, sheet);
    const DwResponseLine *left = channels[0].there ? &channels[0].line : NULL,
                         *right = channels[1].there ? &channels[1].line : NULL;
    if (!suspect) {
        dw_response_say_treble(response, left, right, sheet);
        dw_response_say_fit(response, left, right, sheet);
    }
    remark_method(response, channels, sheet);
    return DW_OK;
}
