// SPDX-License-Identifier: MIT
#include "measure/band/channel_faults.h"

#include "base/text.h"

#include <math.h>
#include <stdlib.h>

static const double DEAD = 0.1;      // −20 dB: what a dead channel picks up of its neighbour
static const double STRAPPED_DB = 3; // right over left then differs by less from band to band, whatever the gains
static const double STRAPPED_RAD = 0.3;
static const double UNEQUAL_DB = 12;  // gains that are farther apart are no preamplifier's
static const double OPEN_DB = 1;      // an open return parts the channels by less
static const double OPPOSED_DB = 0.3; // inputs of equal resistance share a difference alike
static const double WEAK_DB = 6;      // less is balance

// The most that CHANNEL gives in any band, and whether a band was there to drive it.
static double best_of(const DwChannelRoles *roles, size_t channel, bool *expected)
{
    double best = 0;
    *expected = false;
    for (size_t role = 0; role < DW_BAND_KINDS; role++) {
        bool drives = role == channel || role >= DW_BAND_LATERAL;
        *expected = *expected || (drives && (roles->has[role] || roles->silent[role]));
        if (roles->has[role])
            best = fmax(best, dw_tone_band_level(&roles->band[role], channel, NULL));
    }
    return best;
}

// Whether both channels carry the same in the band of one and in that of the other, in phase or (OPPOSED) in opposite
// phase. Joined channels keep the ratio of their gains whichever is driven, where those that are apart turn it over.
// MOST_DB: what their gains may differ.
static bool carry_the_same(const DwChannelRoles *roles, bool opposed, double most_db)
{
    if (!roles->has[DW_BAND_LEFT] || !roles->has[DW_BAND_RIGHT])
        return false;
    double complex left = dw_tone_band_ratio(&roles->band[DW_BAND_LEFT], 1, 0, 0).mean * (opposed ? -1 : 1),
                   right = dw_tone_band_ratio(&roles->band[DW_BAND_RIGHT], 1, 0, 0).mean * (opposed ? -1 : 1);
    double left_db = 20 * log10(cabs(left)), right_db = 20 * log10(cabs(right));
    return fabs(left_db - right_db) < STRAPPED_DB && fmax(fabs(left_db), fabs(right_db)) < most_db &&
           fmax(fabs(carg(left)), fabs(carg(right))) < STRAPPED_RAD;
}

static bool is_swapped(const DwChannelRoles *roles)
{
    return (roles->has[DW_BAND_LEFT] && roles->band[DW_BAND_LEFT].kind == DW_BAND_RIGHT) ||
           (roles->has[DW_BAND_RIGHT] && roles->band[DW_BAND_RIGHT].kind == DW_BAND_LEFT);
}

// One channel carries nothing of its own. Returned: whether that is so.
static bool find_dead(const DwChannelRoles *roles, DwChannelFaults *faults)
{
    bool expected[2];
    double best[2] = {best_of(roles, 0, &expected[0]), best_of(roles, 1, &expected[1])};
    for (size_t c = 0; c < 2; c++)
        faults->dead[c] = roles->gain_db == 0 && expected[c] && best[c] < DEAD * best[1 - c];
    return faults->dead[0] || faults->dead[1];
}

// How far one channel lies under the other [dB]: each in its own band where both were heard, which no leak touches.
static double apart_db(const DwChannelRoles *roles, bool swapped)
{
    if (!roles->has[DW_BAND_LEFT] || !roles->has[DW_BAND_RIGHT])
        return fabs(roles->gain_db);
    double left = dw_tone_band_level(&roles->band[DW_BAND_LEFT], swapped, NULL);
    double right = dw_tone_band_level(&roles->band[DW_BAND_RIGHT], !swapped, NULL);
    return fabs(20 * log10(right / left));
}

static DwChannelFaults faults_of(const DwChannelRoles *roles)
{
    DwChannelFaults faults = {.by_content = roles->basis == DW_ROLES_BY_CONTENT};
    bool both = roles->has[DW_BAND_LEFT] && roles->has[DW_BAND_RIGHT];
    faults.intermittent[0] = roles->breaks[0];
    faults.intermittent[1] = roles->breaks[1];
    if (find_dead(roles, &faults))
        return faults;
    faults.strapped = carry_the_same(roles, false, UNEQUAL_DB);
    faults.open_ground = carry_the_same(roles, true, faults.by_content ? OPPOSED_DB : OPEN_DB);
    if (faults.strapped || faults.open_ground)
        return faults;
    faults.swapped = is_swapped(roles);
    int polarity = 1;
    bool known = dw_channel_roles_polarity(roles, &polarity);
    faults.reversed = known && polarity < 0;
    faults.known = known && both;
    faults.polarity_known = known;
    size_t weaker = (roles->gain_db < 0) != faults.swapped; // of the record's two
    faults.weak_db = roles->gain_db != 0 ? apart_db(roles, faults.swapped) : 0;
    faults.weak[weaker] = faults.weak_db > WEAK_DB;
    if (faults.swapped && (faults.intermittent[0] != faults.intermittent[1])) {
        faults.intermittent[0] = roles->breaks[1];
        faults.intermittent[1] = roles->breaks[0];
    }
    return faults;
}

bool dw_channel_faults_leave_one(const DwChannelFaults *faults)
{
    return faults->dead[0] || faults->dead[1] || faults->strapped || faults->open_ground;
}

// What was told of left and right goes the other way round.
static void exchange(DwChannelFaults *faults)
{
    bool weak = faults->weak[0], intermittent = faults->intermittent[0];
    faults->weak[0] = faults->weak[1];
    faults->weak[1] = weak;
    faults->intermittent[0] = faults->intermittent[1];
    faults->intermittent[1] = intermittent;
}

static void join_side(DwChannelFaults *faults, const DwChannelFaults *side)
{
    if (dw_channel_faults_leave_one(faults))
        return;
    // All bands of the side tell it better than the few of one tone.
    faults->known |= side->known;
    faults->polarity_known |= side->polarity_known;
    faults->strapped = side->strapped;
    faults->open_ground = side->open_ground;
    for (size_t c = 0; c < 2; c++)
        faults->dead[c] = side->dead[c];
    if (dw_channel_faults_leave_one(faults)) {
        faults->swapped = faults->reversed = faults->weak[0] = faults->weak[1] = false;
        return;
    }
    if (faults->swapped != side->swapped)
        exchange(faults);
    faults->swapped = side->swapped;
    faults->reversed = side->polarity_known ? side->reversed : faults->reversed;
    bool weak = faults->weak[0] || faults->weak[1];
    for (size_t c = 0; c < 2; c++) {
        faults->intermittent[c] |= side->intermittent[c];
        faults->weak[c] |= !weak && side->weak[c];
    }
    faults->weak_db = weak ? faults->weak_db : side->weak_db;
}

DwChannelFaults dw_channel_faults_of(const DwChannelRoles *roles, const DwChannelFaults *side)
{
    DwChannelFaults faults = faults_of(roles);
    if (!side)
        return faults;
    faults.by_plan = true;
    join_side(&faults, side);
    for (size_t c = 0; c < 2; c++) {
        bool lost = faults.dead[c] || faults.weak[c];
        faults.own_ground[c] = lost && side->own_ground[c];
        faults.hisses[c] = lost && side->hisses[c];
        faults.may_hum[c] = lost && side->may_hum[c];
    }
    return faults;
}

bool dw_channel_faults_any(const DwChannelFaults *faults)
{
    return dw_channel_faults_leave_one(faults) || faults->swapped || faults->reversed || faults->weak[0] ||
           faults->weak[1] || faults->intermittent[0] || faults->intermittent[1] || faults->own_ground[0] ||
           faults->own_ground[1];
}

// --- in words -------------------------------------------------------------------------

static void add_word(DwText *text, bool stands, const char *word)
{
    if (stands)
        dw_text_add(text, "%s%s", text->length ? " and " : "", word);
}

char *dw_channel_faults_words(const DwChannelFaults *faults)
{
    DwText text = {0};
    add_word(&text, faults->own_ground[0], "left ground open");
    add_word(&text, faults->own_ground[1], "right ground open");
    add_word(&text, faults->dead[0] && !faults->own_ground[0], "left dead");
    add_word(&text, faults->dead[1] && !faults->own_ground[1], "right dead");
    add_word(&text, faults->open_ground, "open ground");
    add_word(&text, faults->strapped, "strapped");
    add_word(&text, faults->swapped, "swapped");
    add_word(&text, faults->reversed, "reversed");
    add_word(&text, faults->intermittent[0], "left intermittent");
    add_word(&text, faults->intermittent[1], "right intermittent");
    add_word(&text, faults->weak[0] && !faults->own_ground[0], "left weak");
    add_word(&text, faults->weak[1] && !faults->own_ground[1], "right weak");
    add_word(&text, text.length == 0, "none");
    return dw_text_take(&text);
}

// A channel without signal that is far louder than the other: what may be, and what tells it apart.
static void remark_noise(const DwChannelFaults *faults, size_t side, DwSheet *sheet)
{
    const char *name = side ? "right" : "left";
    if (faults->may_hum[side])
        dw_sheet_remark(
            sheet,
            "The %s channel is far noisier than the other, and hums a little: its return or its coil is open, "
            "or the preamplifier has a noisy input. Swap the plugs: noise that goes with the plug is the "
            "deck's (measure coil and return with the plugs pulled), noise that stays is the preamplifier's.",
            name);
    else if (faults->hisses[side])
        dw_sheet_remark(
            sheet,
            "The %s channel is far noisier than the other, and does not hum: its coil or its wire is open, or "
            "the preamplifier has a noisy input. Swap the plugs: noise that goes with the plug is the deck's "
            "(measure the coil with the plugs pulled), noise that stays is the preamplifier's.",
            name);
}

static void remark_sides(const DwChannelFaults *faults, size_t side, DwSheet *sheet)
{
    const char *name = side ? "right" : "left";
    if (faults->own_ground[side])
        dw_sheet_remark(
            sheet,
            "The %s channel hums and gives little or nothing: its return is open. Look at the clip, the arm "
            "wire and the plug's shell on that side.",
            name);
    else if (faults->dead[side])
        dw_sheet_remark(sheet,
                        "The %s channel is dead: look at clip, arm wire, plug and coil; swap the clips to see whether "
                        "the fault stays with the cartridge.",
                        name);
    else if (faults->weak[side])
        dw_sheet_remark(sheet,
                        "The %s channel is %.1f dB weaker than the other: a dirty contact, a coil half open, or a gain "
                        "set apart. Swap the plugs to see whether the fault stays with the deck.",
                        name, faults->weak_db);
    remark_noise(faults, side, sheet);
    if (faults->intermittent[side])
        dw_sheet_remark(sheet,
                        "The %s channel comes and goes while the other plays on: a loose clip, a broken strand or a "
                        "worn switch. Move each while a tone plays; the readings are of what was left.",
                        name);
}

static void remark_swap(const DwChannelFaults *faults, DwSheet *sheet)
{
    const char *what = faults->by_plan      ? "the plan that has left and right exchanged"
                       : faults->by_content ? "the order of the bands (channels.order)"
                                            : "the bands that were named the wrong way round";
    dw_sheet_remark(sheet,
                    "Left and right are swapped somewhere between cartridge and recording, or it is %s. A record with "
                    "a spoken left or right tells which. The readings are given by the record's channels, as if the "
                    "leads were put right.",
                    what);
}

static void remark_faults(const DwChannelFaults *faults, DwSheet *sheet)
{
    for (size_t side = 0; side < 2; side++)
        remark_sides(faults, side, sheet);
    if (faults->open_ground)
        dw_sheet_remark(sheet,
                        "Both channels carry the same in opposite phase: the return that they share is open (the "
                        "ground clips, a strap at the cartridge), so that each input gets half of left less "
                        "right.%s",
                        faults->by_content ? " A record of vertical bands alone would sound the same." : "");
    if (faults->strapped)
        dw_sheet_remark(sheet,
                        "Both channels carry the same: the cartridge is strapped for mono, a mono switch is on, or "
                        "something between it and the recording joins the channels.");
    if (faults->swapped)
        remark_swap(faults, sheet);
    if (faults->reversed)
        dw_sheet_remark(sheet, "One channel is reversed: lateral movement comes out in opposite phase. Swap the two "
                               "clips of one channel. The readings are given as if that were put right.");
    if (faults->by_content)
        dw_sheet_remark(sheet, "Bands were told by their content and the order of the record (channels.order, "
                               "lateral before vertical). Name their seconds to be sure.");
}

void dw_channel_faults_report(const DwChannelFaults *faults, DwSheet *sheet)
{
    bool any = dw_channel_faults_any(faults);
    if (!any && !faults->known) {
        dw_sheet_not_measured(sheet, "channels.fault",
                              "No fault shows, but it takes the left, the right and the band of both to rule one out.");
        return;
    }
    char *words = dw_channel_faults_words(faults);
    DwReading *reading = dw_sheet_add_word(sheet, "channels.fault", "Fault of the channels", words);
    free(words);
    dw_reading_set_method(reading, "what each band is heard as, against what it was cut as");
    if (!any)
        return;
    reading->verdict = DW_VERDICT_ATTENTION; // a clip, a lead or a plug as a rule: what to renew is not known yet
    reading->flags |= DW_FLAG_FAULT;
    remark_faults(faults, sheet);
}
