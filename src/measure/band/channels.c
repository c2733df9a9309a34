// SPDX-License-Identifier: MIT
#include "measure/band/channels.h"

#include "measure/band/band_doubt.h"
#include "measure/band/record_tolerance.h"
#include "physics/riaa.h"

#include <math.h>

enum { HARMONICS = 5 };

static const double LOWEST_TONE_HZ = 200, HIGHEST_TONE_HZ = 4500;
static const double WIDEST_SPEED = 1.4; // 45 for 33⅓
static const double SMOOTHING_S = 0.04;
static const double NEARLY_ALL = 0.04;  // of the record's own: less is left in one case of forty
static const double ABOVE_RECORD = 1.4; // a leak this far above the record's own is the pickup's

// The tone and its harmonics.
static const DwComponent components[HARMONICS] = {{1, 0}, {2, 0}, {3, 0}, {4, 0}, {5, 0}};

DwSynchronousSettings dw_channels_detector(double tone_hz)
{
    bool stated = isfinite(tone_hz);
    return (DwSynchronousSettings){
        .lowest_hz = stated ? tone_hz / WIDEST_SPEED : LOWEST_TONE_HZ,
        .highest_hz = stated ? tone_hz * WIDEST_SPEED : HIGHEST_TONE_HZ,
        .smoothing_s = SMOOTHING_S,
        .components = components,
        .component_count = HARMONICS,
    };
}

DwBandSet *dw_channels_new_set(double tone_hz)
{
    return dw_band_set_new(dw_channels_detector(tone_hz), (DwBandRule){.split_db = 2, .least_s = 1.5});
}

static double decibels(double ratio)
{
    return 20 * log10(ratio);
}

// Everything the readings are made from. Channels are the record's: a swapped
// pair is put right first.
typedef struct {
    const DwChannelRoles *roles;
    const DwChannelsSettings *settings;
    const DwChannelFaults *faults;
    size_t channel[2]; // which of the recording's channels is the record's left, right
    DwSheet *sheet;
} Work;

static bool has(const Work *work, DwBandKind role)
{
    return work->roles->has[role];
}

static double level(const Work *work, DwBandKind role, size_t side, double *relative)
{
    double uncertainty, value = dw_tone_band_level(&work->roles->band[role], work->channel[side], &uncertainty);
    *relative = uncertainty / value;
    return value;
}

// How far the leaks from channel to channel may part the two levels of the lateral band [dB]: they add or take
// away. What no one-sided band tells may be as much as DIN 45 500 lets pass, 20 dB.
static double leaks_in_lateral_db(const Work *work)
{
    static const DwBandKind driven[2] = {DW_BAND_LEFT, DW_BAND_RIGHT};
    double most = 0;
    bool known = false;
    for (size_t side = 0; side < 2; side++)
        if (has(work, driven[side])) {
            double spread;
            double own = level(work, driven[side], side, &spread), other = level(work, driven[side], 1 - side, &spread);
            most = fmax(most, other / own);
            known = true;
        }
    return decibels(1 + sqrt(2) * (known ? most : 0.1));
}

// What the record's own bands put on the balance, and how far that may be off.
static double own_balance_db(const Work *work, double *off_db)
{
    double own = work->settings->record_balance_db, off = work->settings->record_balance_off_db;
    *off_db = off > 0 ? off : sqrt(2) * dw_record_tolerance_level_db();
    return isfinite(own) ? own : 0;
}

static void add_balance(const Work *work)
{
    bool apart = has(work, DW_BAND_LEFT) && has(work, DW_BAND_RIGHT);
    if (!apart && !has(work, DW_BAND_LATERAL)) {
        DwBandKind role = has(work, DW_BAND_LEFT) ? DW_BAND_RIGHT : DW_BAND_LEFT;
        dw_sheet_not_measured(work->sheet, "channels.balance", "%s", dw_channel_roles_missing(work->roles, role));
        return;
    }
    double spread[2];
    double left = level(work, apart ? DW_BAND_LEFT : DW_BAND_LATERAL, 0, &spread[0]);
    double right = level(work, apart ? DW_BAND_RIGHT : DW_BAND_LATERAL, 1, &spread[1]);
    double own_off_db, own_db = own_balance_db(work, &own_off_db);
    DwReading *reading = dw_sheet_add_estimate(
        work->sheet, "channels.balance", "Channel balance, right over left",
        decibels(right / left) - (apart ? own_db : 0), "dB", 2,
        hypot(decibels(1 + hypot(spread[0], spread[1])), apart ? own_off_db : leaks_in_lateral_db(work)),
        apart ? "synchronous, each channel in its own band; the ± holds how far the record's bands are off their levels"
              : "synchronous, both channels in the lateral band; the ± holds the leaks from one to the other");
    if (!apart)
        reading->flags |= DW_FLAG_APPROXIMATE; // azimuth turns this one too
}

static const char *const separation_keys[2] = {"channels.separation_left", "channels.separation_right"};

// A leak that cannot be told from noise, or from the record's own: LEAK is the most that it can be.
static void add_at_least(const Work *work, size_t side, double leak, bool in_record)
{
    static const char *const labels[2] = {"Separation, left driven, at least", "Separation, right driven, at least"};
    dw_sheet_add_estimate(work->sheet, separation_keys[side], labels[side], -decibels(leak), "dB", 1, NAN,
                          in_record ? "the leak is no larger than the record's own" : "the leak lies in the noise");
}

// How many decibels a leak of SIZE may be off that has RECORD, 95 %, of something else in it, which adds to it
// or takes from it: what takes nearly all leaves a pickup that leaks hardly at all.
static double spread_of(double size, double record)
{
    double more = decibels(1 + record / size), less = decibels(size / fmax(size - record, NEARLY_ALL * record));
    return fmax(more, less);
}

// The leak of the driven SIDE into the other, over the other's own level.
// Returned: the larger of leak and noise is what can be told apart.
static double add_separation(const Work *work, size_t side)
{
    static const char *const *keys = separation_keys, *const labels[2] = {"Separation, left driven",
                                                                          "Separation, right driven"};
    DwBandKind own = side ? DW_BAND_RIGHT : DW_BAND_LEFT, other = side ? DW_BAND_LEFT : DW_BAND_RIGHT;
    if (!has(work, own)) {
        dw_sheet_not_measured(work->sheet, keys[side], "%s", dw_channel_roles_missing(work->roles, own));
        return NAN;
    }
    size_t driven = work->channel[side], idle = work->channel[1 - side];
    DwToneEstimate leak = dw_tone_band_ratio(&work->roles->band[own], idle, 0, driven);
    double unused, gain = 1; // of the other channel over the driven one
    DwBandKind reference = has(work, other) ? other : DW_BAND_LATERAL;
    if (has(work, other))
        gain = level(work, other, 1 - side, &unused) / level(work, own, side, &unused);
    else if (has(work, DW_BAND_LATERAL))
        gain = level(work, DW_BAND_LATERAL, 1 - side, &unused) / level(work, DW_BAND_LATERAL, side, &unused);
    double size = cabs(leak.mean) / gain, noise = leak.uncertainty / gain;
    double stated = pow(10, -work->settings->crosstalk_db / 20);
    bool in_noise = size < 2 * noise,
         in_record = isfinite(work->settings->crosstalk_db) && size < ABOVE_RECORD * stated;
    if (in_noise || in_record) {
        add_at_least(work, side, size + fmax(in_noise ? noise : 0, in_record ? stated : 0), in_record);
        return noise;
    }
    double record = hypot(noise, 1.96 * dw_record_tolerance_leak(work->settings->crosstalk_db));
    DwReading *reading =
        dw_sheet_add_estimate(work->sheet, keys[side], labels[side], -decibels(size), "dB", 1, spread_of(size, record),
                              "synchronous at the tone, leak over that channel's own level; the ± "
                              "holds the record's own crosstalk");
    if (!has(work, reference) || reference == DW_BAND_LATERAL)
        reading->flags |= DW_FLAG_APPROXIMATE;
    return noise;
}

static void add_floor(const Work *work, double left_noise, double right_noise)
{
    double noise = fmax(left_noise, right_noise); // fmax passes over NAN
    if (isnan(noise)) {
        dw_sheet_not_measured(work->sheet, "channels.floor",
                              "It takes a one-sided band of at least four blocks (1 s).");
        return;
    }
    dw_sheet_add_estimate(work->sheet, "channels.floor", "Separation that noise alone would imitate", -decibels(noise),
                          "dB", 1, NAN, "95 % scatter of the leak between blocks");
}

static void add_polarity(const Work *work)
{
    if (work->faults->polarity_known)
        dw_reading_set_method(dw_sheet_add_word(work->sheet, "channels.polarity", "Polarity of lateral movement",
                                                work->faults->reversed ? "in opposite phase" : "in phase"),
                              "sign of right over left in the band of both");
    else if (has(work, DW_BAND_LATERAL) || has(work, DW_BAND_VERTICAL))
        dw_sheet_not_measured(work->sheet, "channels.polarity", "Only one channel is heard in the band of both.");
    else
        dw_sheet_not_measured(work->sheet, "channels.polarity", "%s",
                              dw_channel_roles_missing(work->roles, DW_BAND_LATERAL));
}

// Total of the harmonics that stay in step with the tone, as a share of it.
static double distortion(const DwToneBand *band, size_t channel, double *uncertainty)
{
    double square = 0, spread = 0;
    for (size_t h = 1; h < HARMONICS; h++) {
        DwToneEstimate harmonic = dw_tone_band_ratio(band, channel, h, channel);
        square += creal(harmonic.mean * conj(harmonic.mean));
        spread += harmonic.uncertainty * harmonic.uncertainty;
    }
    *uncertainty = sqrt(spread);
    return sqrt(square);
}

static void add_sensitivity(const Work *work, size_t side, double level_peak, double frequency_hz)
{
    static const char *const keys[2] = {"channels.sensitivity_left", "channels.sensitivity_right"};
    static const char *const output_keys[2] = {"channels.output_left", "channels.output_right"};
    const DwChannelsSettings *settings = work->settings;
    if (isnan(settings->velocity_cm_s) || isnan(settings->full_scale_mv)) {
        dw_sheet_not_measured(work->sheet, keys[side],
                              "Give channels.velocity (of the record) and channels.full_scale (of the chain).");
        return;
    }
    double replay = pow(10, dw_riaa_replay_db(frequency_hz, false) / 20);
    double sensitivity = level_peak * settings->full_scale_mv / replay / (settings->velocity_cm_s / sqrt(2));
    dw_sheet_add_estimate(work->sheet, keys[side], side ? "Sensitivity, right" : "Sensitivity, left", sensitivity,
                          "mV/(cm/s)", 3, NAN, "rms voltage over rms velocity, the replay curve taken off");
    if (isfinite(settings->output_mv))
        dw_sheet_add_estimate(work->sheet, output_keys[side],
                              side ? "Output against its sheet, right" : "Output against its sheet, left",
                              decibels(5 * sensitivity / settings->output_mv), "dB", 1, NAN,
                              "sensitivity at 5 cm/s rms over cartridge.output");
}

// Level, sensitivity and distortion of one side, from its own band or that of both.
static void add_side(const Work *work, size_t side)
{
    static const char *const keys[2][2] = {{"channels.level_left", "channels.distortion_left"},
                                           {"channels.level_right", "channels.distortion_right"}};
    static const char *const labels[2][2] = {{"Level, left", "Harmonic distortion, left"},
                                             {"Level, right", "Harmonic distortion, right"}};
    DwBandKind own = side ? DW_BAND_RIGHT : DW_BAND_LEFT;
    DwBandKind role = has(work, own) ? own : DW_BAND_LATERAL;
    bool dead = work->faults->dead[side];
    if (!has(work, role) || dead) {
        for (size_t i = 0; i < 2; i++)
            dw_sheet_not_measured(work->sheet, keys[side][i], "%s",
                                  dead ? "The channel is dead." : dw_channel_roles_missing(work->roles, own));
        return;
    }
    const DwToneBand *band = &work->roles->band[role];
    double relative, spread, size = level(work, role, side, &relative);
    DwReading *reading = dw_sheet_add_estimate(work->sheet, keys[side][0], labels[side][0], decibels(size), "dBFS", 2,
                                               decibels(1 + relative), "synchronous; a full-scale sine is 0");
    reading->flags |= band->clipped ? DW_FLAG_CLIPPED : 0;
    if (role == own)
        add_sensitivity(work, side, size, band->frequency_hz);
    double share = distortion(band, work->channel[side], &spread);
    reading = dw_sheet_add_estimate(work->sheet, keys[side][1], labels[side][1], 100 * share, "%", 2, 100 * spread,
                                    "harmonics 2 to 5 in step with the tone, as recorded (after the replay curve)");
    reading->flags |= band->clipped ? DW_FLAG_CLIPPED : 0;
}

static void add_table(const Work *work)
{
    static const char *const columns[] = {"band|Band||",
                                          "start|From|s|1",
                                          "end|To|s|1",
                                          "frequency|Tone|Hz|1",
                                          "left|Left|dBFS|2",
                                          "right|Right|dBFS|2",
                                          "phase|Right to left|deg|0",
                                          NULL};
    DwTable *table = dw_sheet_add_table(work->sheet, "channels.bands", "Bands used", columns);
    for (size_t role = 0; role < DW_BAND_KINDS; role++) {
        if (!has(work, (DwBandKind)role))
            continue;
        const DwToneBand *band = &work->roles->band[role];
        size_t row = dw_table_add_row(table);
        dw_table_set_word(table, row, 0, dw_tone_band_word((DwBandKind)role));
        dw_table_set_number(table, row, 1, band->start_s);
        dw_table_set_number(table, row, 2, band->end_s);
        dw_table_set_number(table, row, 3, band->frequency_hz);
        dw_table_set_number(table, row, 4, decibels(dw_tone_band_level(band, 0, NULL)));
        dw_table_set_number(table, row, 5, decibels(dw_tone_band_level(band, 1, NULL)));
        dw_table_set_number(table, row, 6, carg(dw_tone_band_ratio(band, 1, 0, 0).mean) * 180 / M_PI);
    }
}

static const char *const two_channel_keys[] = {"channels.balance",          "channels.separation_left",
                                               "channels.separation_right", "channels.floor",
                                               "channels.polarity",         "channels.fault"};

// A file of one channel: its level and distortion are all there is.
static void add_mono(const DwToneBand *band, DwSheet *sheet)
{
    for (size_t i = 0; i < sizeof two_channel_keys / sizeof *two_channel_keys; i++)
        dw_sheet_not_measured(sheet, two_channel_keys[i], "The recording has one channel. Record both.");
    double spread, level = dw_tone_band_level(band, 0, &spread), share;
    DwReading *reading = dw_sheet_add_estimate(sheet, "channels.level_mono", "Level", decibels(level), "dBFS", 2,
                                               decibels(1 + spread / level), "synchronous; a full-scale sine is 0");
    reading->flags |= band->clipped ? DW_FLAG_CLIPPED : 0;
    share = distortion(band, 0, &spread);
    dw_sheet_add_estimate(sheet, "channels.distortion_mono", "Harmonic distortion", 100 * share, "%", 2, 100 * spread,
                          "harmonics 2 to 5 in step with the tone, as recorded (after the replay curve)");
}

// Why balance and separation are not there to be measured; NULL when they are.
static const char *why_not_apart(const DwChannelFaults *faults)
{
    return faults->dead[0] || faults->dead[1] ? "One channel is dead."
           : faults->strapped                 ? "Both channels carry the same: what each has of its own is gone."
           : faults->open_ground              ? "The channels' return is open: each input gets left less right."
                                              : NULL;
}

// A lone band of both channels may be no band at all.
static void doubt_hum(const Work *work)
{
    const DwToneBand *band = &work->roles->band[DW_BAND_LATERAL];
    bool alone = has(work, DW_BAND_LATERAL) && !has(work, DW_BAND_LEFT) && !has(work, DW_BAND_RIGHT);
    if (!alone || work->roles->basis == DW_ROLES_NAMED || !dw_band_doubt_may_be_hum(band))
        return;
    dw_sheet_caution(work->sheet,
                     "The tone of %.1f Hz is a multiple of the mains and wavers less than any record's: it may be hum. "
                     "Lift the arm and record again: what stays is hum.",
                     band->frequency_hz);
}

// Left and right parted as no groove parts them: what was recorded is no band of a record.
static void doubt_separation(const Work *work)
{
    double parted_db[2];
    for (size_t side = 0; side < 2; side++) {
        const DwReading *reading = dw_sheet_reading(work->sheet, separation_keys[side]);
        parted_db[side] = reading ? reading->value : NAN;
    }
    dw_band_doubt_beyond_grooves(parted_db, work->sheet);
}

static void read_two_channels(const Work *work)
{
    dw_channel_faults_report(work->faults, work->sheet);
    const char *why = why_not_apart(work->faults);
    if (!why) {
        add_balance(work);
        double left = add_separation(work, 0), right = add_separation(work, 1);
        add_floor(work, left, right);
    } else
        for (size_t i = 0; i < 4; i++)
            dw_sheet_not_measured(work->sheet, two_channel_keys[i], "%s", why);
    if (work->faults->open_ground || work->faults->strapped)
        dw_sheet_not_measured(work->sheet, "channels.polarity", "%s", why);
    else
        add_polarity(work);
    add_side(work, 0);
    add_side(work, 1);
    add_table(work);
    doubt_hum(work);
    doubt_separation(work);
    if (work->roles->left_over)
        dw_sheet_remark(work->sheet, "%zu other stretches of tone were found and not used.", work->roles->left_over);
}

DwStatus dw_channels_read(DwBandSet *set, const DwNamedBand *named, size_t named_count,
                          const DwChannelsSettings *settings, DwSheet *sheet, DwMessage *message)
{
    DwChannelRoles roles;
    DwStatus status = dw_channel_roles_find(set, named, named_count, settings->left_first, &roles, message);
    if (status != DW_OK)
        return status;
    if (dw_band_set_channels(set) == 1) {
        for (size_t role = 0; role < DW_BAND_KINDS; role++)
            if (roles.has[role]) {
                add_mono(&roles.band[role], sheet);
                break;
            }
        return DW_OK;
    }
    DwChannelFaults faults = dw_channel_faults_of(&roles, settings->side);
    Work work = {.roles = &roles,
                 .settings = settings,
                 .faults = &faults,
                 .channel = {faults.swapped, !faults.swapped},
                 .sheet = sheet};
    read_two_channels(&work);
    return DW_OK;
}
