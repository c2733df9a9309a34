// SPDX-License-Identifier: MIT
#include "measure/band/channel_roles.h"

#include "base/memory.h"
#include "measure/band/band_doubt.h"
#include "measure/band/channel_gain.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { HARMONICS = 5 };               // components of the sets that roles are found in
static const double SAME_TONE = 0.03; // of the frequency
static const double DEAD = 0.02;      // −34 dB: below, a channel is not there
static const double ONE_SIDED_DB = 6;
static const double GAIN_COUNTS_DB = 3; // a gain nearer to 0 is balance, and kinds are told without it
static const double QUIET = 0.18;       // −15 dB: a band that only leaks into the channel that is heard
static const double JOINED_DB = 5;      // how near the first two bands of joined channels are: as their gains
static const double OPPOSED_DB = 2;     // how near two bands through an open return
static const double TOGETHER_LEAST_DB = -3.5, TOGETHER_MOST_DB = 2; // the third over their sum: −3 or 0, as it is cut

static bool same_tone(const DwToneBand *a, const DwToneBand *b)
{
    return fabs(a->frequency_hz / b->frequency_hz - 1) <= SAME_TONE;
}

static void assign(DwChannelRoles *roles, DwBandKind role, const DwToneBand *band)
{
    if (band) {
        roles->has[role] = true;
        roles->band[role] = *band;
    }
}

// --- one channel far weaker than the other ------------------------------------------------

static double level_db(const DwToneBand *band, size_t channel)
{
    return 20 * log10(dw_tone_band_level(band, channel, NULL) + 1e-12);
}

// Right's gain over left's from those of COUNT bands that hold the tone of LIKE.
static double gain_of_tone(const DwToneBand *bands, size_t count, const DwToneBand *like)
{
    DwChannelLevels *levels = dw_memory_new(count + 1, sizeof *levels);
    size_t same = 0;
    for (size_t i = 0; i < count; i++)
        if (same_tone(&bands[i], like))
            levels[same++] = (DwChannelLevels){{level_db(&bands[i], 0), level_db(&bands[i], 1)}};
    double gain = dw_channel_gain_db(levels, same);
    free(levels);
    return fabs(gain) < GAIN_COUNTS_DB ? 0 : gain;
}

// The gain that any tone of the bands shows.
static double gain_of(const DwToneBand *bands, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        double gain = gain_of_tone(bands, count, &bands[i]);
        if (gain != 0)
            return gain;
    }
    return 0;
}

// Tells the kind of BAND again with the channels' gains made alike.
static void tell_kind(DwToneBand *band, double gain_db)
{
    double right_db = level_db(band, 1) - level_db(band, 0) - gain_db;
    bool in_phase = creal(dw_tone_band_ratio(band, 1, 0, 0).mean) >= 0;
    band->kind = right_db <= -ONE_SIDED_DB  ? DW_BAND_LEFT
                 : right_db >= ONE_SIDED_DB ? DW_BAND_RIGHT
                 : in_phase                 ? DW_BAND_LATERAL
                                            : DW_BAND_VERTICAL;
}

// --- roles by content ---------------------------------------------------------------------

// The bands of one tone, sorted by kind, each in order of time.
enum { MOST = 16 };
typedef struct {
    const DwToneBand *of[DW_BAND_KINDS][MOST];
    size_t count[DW_BAND_KINDS];
} Sorted;

static Sorted sort_like(const DwToneBand *bands, size_t count, const DwToneBand *like)
{
    Sorted sorted = {0};
    for (size_t i = 0; i < count; i++)
        if (same_tone(&bands[i], like) && sorted.count[bands[i].kind] < MOST)
            sorted.of[bands[i].kind][sorted.count[bands[i].kind]++] = &bands[i];
    return sorted;
}

static size_t kinds_in(const Sorted *sorted)
{
    size_t kinds = 0;
    for (size_t k = 0; k < DW_BAND_KINDS; k++)
        kinds += sorted->count[k] > 0;
    return kinds;
}

static size_t bands_in(const Sorted *sorted)
{
    size_t bands = 0;
    for (size_t k = 0; k < DW_BAND_KINDS; k++)
        bands += sorted->count[k];
    return bands;
}

// The tone that stands in the most kinds of bands, then in the most bands.
static Sorted sort_best(const DwToneBand *bands, size_t count)
{
    Sorted best = {0};
    for (size_t i = 0; i < count; i++) {
        Sorted sorted = sort_like(bands, count, &bands[i]);
        size_t kinds = kinds_in(&sorted), best_kinds = kinds_in(&best);
        if (kinds > best_kinds || (kinds == best_kinds && bands_in(&sorted) > bands_in(&best)))
            best = sorted;
    }
    return best;
}

// Both one-sided kinds were met: their order on the record says which is which.
static void assign_one_sided(DwChannelRoles *roles, const Sorted *sorted, bool left_first)
{
    const DwToneBand *left = sorted->of[DW_BAND_LEFT][0], *right = sorted->of[DW_BAND_RIGHT][0];
    bool as_engraved = (left < right) == left_first;
    assign(roles, DW_BAND_LEFT, as_engraved ? left : right);
    assign(roles, DW_BAND_RIGHT, as_engraved ? right : left);
}

static void assign_two_sided(DwChannelRoles *roles, const Sorted *sorted)
{
    const DwToneBand *lateral = sorted->of[DW_BAND_LATERAL][0], *vertical = sorted->of[DW_BAND_VERTICAL][0];
    bool as_engraved = lateral && (!vertical || lateral < vertical);
    assign(roles, DW_BAND_LATERAL, as_engraved ? lateral : vertical);
    assign(roles, DW_BAND_VERTICAL, as_engraved ? vertical : lateral);
}

// Only one channel was ever heard, in several bands: its own, that of both, and
// perhaps its neighbour's, from which it hears little.
static void assign_lone_channel(DwChannelRoles *roles, const Sorted *sorted, DwBandKind heard)
{
    DwBandKind other = heard == DW_BAND_LEFT ? DW_BAND_RIGHT : DW_BAND_LEFT;
    double loudest = 0;
    for (size_t i = 0; i < sorted->count[heard]; i++)
        loudest = fmax(loudest, sorted->of[heard][i]->level);
    for (size_t i = 0; i < sorted->count[heard]; i++) {
        const DwToneBand *band = sorted->of[heard][i];
        DwBandKind role = band->level < QUIET * loudest ? other : !roles->has[heard] ? heard : DW_BAND_LATERAL;
        if (!roles->has[role])
            assign(roles, role, band);
    }
}

// Whether the bands that come out of both channels are those of one wall, the
// other and both, joined: the third is then as loud as the others together.
static bool is_joined(const Sorted *sorted)
{
    const DwToneBand *const *lateral = sorted->of[DW_BAND_LATERAL];
    if (sorted->count[DW_BAND_LATERAL] < 3 || sorted->count[DW_BAND_LEFT] + sorted->count[DW_BAND_RIGHT] > 0)
        return false;
    double second_db = 20 * log10(lateral[1]->level / lateral[0]->level),
           third_db = 20 * log10(lateral[2]->level / (lateral[0]->level + lateral[1]->level));
    return fabs(second_db) < JOINED_DB && third_db > TOGETHER_LEAST_DB && third_db < TOGETHER_MOST_DB;
}

// Whether all that comes out is each band in opposite phase: the channels' common return is open.
static bool is_opposed(const Sorted *sorted)
{
    return sorted->count[DW_BAND_VERTICAL] >= 2 && bands_in(sorted) == sorted->count[DW_BAND_VERTICAL] &&
           fabs(20 * log10(sorted->of[DW_BAND_VERTICAL][1]->level / sorted->of[DW_BAND_VERTICAL][0]->level)) <
               OPPOSED_DB;
}

static DwChannelRoles sort_out(const DwToneBand *bands, size_t count, bool left_first)
{
    DwChannelRoles roles = {.basis = DW_ROLES_BY_CONTENT};
    Sorted sorted = sort_best(bands, count);
    size_t left = sorted.count[DW_BAND_LEFT], right = sorted.count[DW_BAND_RIGHT];
    size_t lateral = sorted.count[DW_BAND_LATERAL];
    if (left && right)
        assign_one_sided(&roles, &sorted, left_first);
    else if (left + right > 0 && lateral == 0)
        assign_lone_channel(&roles, &sorted, left ? DW_BAND_LEFT : DW_BAND_RIGHT);
    else if (left + right > 0)
        assign(&roles, left ? DW_BAND_LEFT : DW_BAND_RIGHT, sorted.of[left ? DW_BAND_LEFT : DW_BAND_RIGHT][0]);
    if (is_joined(&sorted)) {
        assign(&roles, left_first ? DW_BAND_LEFT : DW_BAND_RIGHT, sorted.of[DW_BAND_LATERAL][0]);
        assign(&roles, left_first ? DW_BAND_RIGHT : DW_BAND_LEFT, sorted.of[DW_BAND_LATERAL][1]);
        assign(&roles, DW_BAND_LATERAL, sorted.of[DW_BAND_LATERAL][2]);
    } else if (is_opposed(&sorted)) {
        assign(&roles, left_first ? DW_BAND_LEFT : DW_BAND_RIGHT, sorted.of[DW_BAND_VERTICAL][0]);
        assign(&roles, left_first ? DW_BAND_RIGHT : DW_BAND_LEFT, sorted.of[DW_BAND_VERTICAL][1]);
    } else if (!roles.has[DW_BAND_LATERAL])
        assign_two_sided(&roles, &sorted);
    size_t used = 0;
    for (size_t k = 0; k < DW_BAND_KINDS; k++)
        used += roles.has[k];
    roles.left_over = count - used;
    return roles;
}

DwChannelRoles dw_channel_roles_by_content(const DwToneBand *bands, size_t count, bool left_first)
{
    double gain_db = gain_of(bands, count);
    DwToneBand *alike = dw_memory_new(count + 1, sizeof *alike);
    if (count)
        memcpy(alike, bands, count * sizeof *alike);
    for (size_t i = 0; i < count && gain_db != 0; i++)
        tell_kind(&alike[i], gain_db);
    DwChannelRoles roles = sort_out(alike, count, left_first);
    roles.gain_db = gain_db;
    free(alike);
    return roles;
}

// Finds the gain among bands whose roles are known, and tells their kinds with it.
static void make_alike(DwChannelRoles *roles)
{
    DwToneBand bands[DW_BAND_KINDS];
    size_t count = 0;
    for (size_t role = 0; role < DW_BAND_KINDS; role++)
        if (roles->has[role])
            bands[count++] = roles->band[role];
    roles->gain_db = gain_of(bands, count);
    for (size_t role = 0; role < DW_BAND_KINDS && roles->gain_db != 0; role++)
        if (roles->has[role])
            tell_kind(&roles->band[role], roles->gain_db);
}

static DwChannelRoles by_name(DwBandSet *set, const DwNamedBand *named, size_t count)
{
    DwChannelRoles roles = {.basis = DW_ROLES_NAMED};
    for (size_t i = 0; i < count; i++) {
        DwBandKind role = named[i].role;
        roles.has[role] =
            dw_band_set_between(set, named[i].recording, named[i].from_s, named[i].to_s, &roles.band[role]);
        roles.silent[role] = !roles.has[role];
    }
    return roles;
}

// Whether no recording of several holds more than one band.
static bool one_band_each(const DwToneBand *bands, size_t count, size_t recordings)
{
    for (size_t i = 1; i < count; i++)
        if (bands[i].recording == bands[i - 1].recording)
            return false;
    return recordings > 1;
}

static DwChannelRoles by_recording(const DwToneBand *bands, size_t count, size_t recordings, bool left_first)
{
    DwChannelRoles roles = {.basis = DW_ROLES_BY_RECORDING};
    DwBandKind order[DW_BAND_KINDS] = {left_first ? DW_BAND_LEFT : DW_BAND_RIGHT,
                                       left_first ? DW_BAND_RIGHT : DW_BAND_LEFT, DW_BAND_LATERAL, DW_BAND_VERTICAL};
    for (size_t i = 0; i < recordings && i < DW_BAND_KINDS; i++)
        roles.silent[order[i]] = true;
    for (size_t i = 0; i < count; i++)
        if (bands[i].recording < DW_BAND_KINDS) {
            assign(&roles, order[bands[i].recording], &bands[i]);
            roles.silent[order[bands[i].recording]] = false;
        }
    return roles;
}

static DwChannelRoles roles_of(DwBandSet *set, const DwNamedBand *named, size_t named_count, bool left_first)
{
    if (named_count)
        return by_name(set, named, named_count);
    size_t count;
    const DwToneBand *bands = dw_band_set_bands(set, &count);
    if (one_band_each(bands, count, dw_band_set_recordings(set)))
        return by_recording(bands, count, dw_band_set_recordings(set), left_first);
    return dw_channel_roles_by_content(bands, count, left_first);
}

DwStatus dw_channel_roles_find(DwBandSet *set, const DwNamedBand *named, size_t named_count, bool left_first,
                               DwChannelRoles *roles, DwMessage *message)
{
    DwStatus status = dw_band_set_check(set, message);
    if (status != DW_OK)
        return status;
    *roles = roles_of(set, named, named_count, left_first);
    if (roles->basis != DW_ROLES_BY_CONTENT)
        make_alike(roles);
    dw_band_set_breaks(set, roles->breaks);
    if (roles->basis != DW_ROLES_NAMED) { // what somebody names is a band
        size_t count;
        const DwToneBand *bands = dw_band_set_bands(set, &count);
        status = dw_band_doubt_check(bands, count, HARMONICS, message);
    }
    for (size_t role = 0; role < DW_BAND_KINDS && status == DW_OK; role++)
        if (roles->has[role])
            return DW_OK;
    return status != DW_OK
               ? status
               : dw_fail(message, DW_BAD_INPUT,
                         "No steady tone of at least 1.5 s was found. Record the left, the right and the band of both "
                         "channels (1 kHz or 315 Hz), or give record.tone.");
}

const char *dw_channel_roles_missing(const DwChannelRoles *roles, DwBandKind role)
{
    static const char *const silent[DW_BAND_KINDS] = {
        "No steady tone stands where the left band should be.",
        "No steady tone stands where the right band should be.",
        "No steady tone stands where the band of both channels should be.",
        "No steady tone stands where the vertical band should be.",
    };
    static const char *const missing[DW_BAND_KINDS] = {
        "The band of the left channel alone was not found. Record it, or give its seconds.",
        "The band of the right channel alone was not found. Record it, or give its seconds.",
        "The band of both channels was not found. Record it, or give its seconds.",
        "The vertical band was not found. Record it, or give its seconds.",
    };
    return roles->silent[role] ? silent[role] : missing[role];
}

// --- in phase or not ------------------------------------------------------------------

bool dw_channel_roles_polarity(const DwChannelRoles *roles, int *polarity)
{
    DwBandKind role = roles->has[DW_BAND_LATERAL] ? DW_BAND_LATERAL : DW_BAND_VERTICAL;
    if (!roles->has[role])
        return false;
    double complex ratio = dw_tone_band_ratio(&roles->band[role], 1, 0, 0).mean;
    if (cabs(ratio) < DEAD || cabs(ratio) > 1 / DEAD)
        return false; // one channel is not there
    *polarity = (creal(ratio) >= 0) == (role == DW_BAND_LATERAL) ? 1 : -1;
    return true;
}
