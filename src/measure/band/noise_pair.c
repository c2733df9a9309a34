// SPDX-License-Identifier: MIT
// Two silent grooves with one thing changed between them.
#include "measure/band/noise_analysis.h"

#include <math.h>
#include <stddef.h>

// A change smaller than this is within what two takes of one groove differ by
// (common practice, no source).
static const double REPEAT_DB = 1;
static const double MOSTLY = 0.5; // of rumble's power
static const double PLAIN_DB = 6; // a change that names its cause
static const double FIELD_DB = 3; // of hum from one place of the arm to another

typedef struct {
    double first, second; // mean squares
    double doubt_db;      // of the difference, 95 %
} Pair;

static Pair mean_pair(const DwNoiseRun *first, const DwNoiseRun *second, size_t offset)
{
    double first_off, second_off;
    Pair pair = {dw_noise_mean(first, offset, &first_off), dw_noise_mean(second, offset, &second_off), NAN};
    double doubt = hypot(10 * log10(1 + first_off), 10 * log10(1 + second_off));
    pair.doubt_db = isnan(doubt) ? REPEAT_DB : hypot(REPEAT_DB, doubt);
    return pair;
}

static double fall_db(Pair pair)
{
    return 10 * log10(pair.first / pair.second);
}

static void add_row(DwTable *table, const char *what, Pair pair, double unit)
{
    size_t row = dw_table_add_row(table);
    dw_table_set_word(table, row, 0, what);
    dw_table_set_number(table, row, 1, 10 * log10(pair.first / unit));
    dw_table_set_number(table, row, 2, 10 * log10(pair.second / unit));
    dw_table_set_number(table, row, 3, -fall_db(pair));
    dw_table_set_number(table, row, 4, pair.doubt_db);
    dw_table_set_word(table, row, 5,
                      fabs(fall_db(pair)) <= pair.doubt_db ? "no measurable change"
                      : fall_db(pair) > 0                  ? "quieter"
                                                           : "louder");
}

static void say(DwSheet *sheet, const char *what, double fall, const char *fell, const char *stayed, const char *rose)
{
    if (isnan(fall)) // there was nothing to change
        return;
    if (fall > PLAIN_DB)
        dw_sheet_remark(sheet, "%s falls by %.0f dB %s", what, fall, fell);
    else if (fall < -REPEAT_DB)
        dw_sheet_remark(sheet, "%s rises by %.0f dB %s", what, -fall, rose);
    else if (fall < REPEAT_DB)
        dw_sheet_remark(sheet, "%s hardly changes %s", what, stayed);
    else
        dw_sheet_remark(sheet, "%s falls by %.1f dB: a part of it, not most.", what, fall);
}

// A field falls off within a hand's breadth; a current in the leads goes wherever the arm is.
static void say_place(DwSheet *sheet, double hum)
{
    if (isnan(hum))
        return;
    if (fabs(hum) > FIELD_DB)
        dw_sheet_remark(sheet,
                        "Hum is %.0f dB %s over the label than over the lead-in: a magnetic field reaches the "
                        "cartridge, of the motor, a transformer or a supply nearby. It is no earth loop. Move or turn "
                        "what makes it, or screen it.",
                        fabs(hum), hum > 0 ? "weaker" : "stronger");
    else if (fabs(hum) < REPEAT_DB)
        dw_sheet_remark(sheet, "Hum is the same wherever the arm stands: no field at the cartridge makes it but a "
                               "second earth path, an open return, or the preamplifier. Take the other sources off "
                               "the amplifier, then leave the signal one earth point only.");
    else
        dw_sheet_remark(sheet, "Hum changes by %.1f dB with the arm's place: a field has a part in it, not all.",
                        fabs(hum));
}

// A second earth path may be a mains lead's: whoever seeks it is told which earth must stay.
static void caution_earth(DwSheet *sheet)
{
    dw_sheet_caution(sheet, "Part only the signal's earth: the thin lead to the amplifier's earth post, or a lead's "
                            "screen. Never take off or break a protective mains earth, of deck or amplifier; that is "
                            "for licensed people. Turn the volume down first.");
}

// What is left of rumble without its hum, where most of it is hum.
static double rumble_fall(const DwNoise *first, const DwNoise *second, Pair rumble, bool hums, const char **what)
{
    const DwNoise *noise[2] = {first, second};
    const double whole[2] = {rumble.first, rumble.second};
    double left[2];
    *what = "Rumble";
    for (size_t i = 0; i < 2 && hums; i++) {
        double power[DW_NOISE_DIRECTIONS];
        const DwNoiseRun *run = dw_noise_stretch(noise[i]);
        DwNoiseMains mains = dw_noise_find_mains(noise[i], run);
        dw_noise_beside_hum(noise[i], run, &mains, power);
        left[i] = power[DW_NOISE_BOTH];
    }
    if (!hums || (left[0] > MOSTLY * whole[0] && left[1] > MOSTLY * whole[1]))
        return fall_db(rumble);
    *what = "Rumble, its hum left out,";
    return 10 * log10(left[0] / left[1]);
}

static void say_change(DwSheet *sheet, DwNoiseChange change, double hum, double rumble, const char *what)
{
    switch (change) {
    case DW_NOISE_ARM:
        say(sheet, "Hum", hum, "with the arm on its rest: it comes up through the stylus, or grows towards the label.",
            "with the arm on its rest: it is electrical (earth, screen, leads, preamplifier), not from the groove.",
            "with the arm on its rest: the rest lies nearer to the field of motor or transformer.");
        say(sheet, what, rumble, "with the arm on its rest: it comes from groove, bearing and drive.",
            "with the arm on its rest: it is not from the groove; look for low-frequency noise of the chain.",
            "with the arm on its rest: the rest or the plinth shakes; look at motor and transformer mounts.");
        return;
    case DW_NOISE_POSITION:
        say_place(sheet, hum);
        if (fabs(hum) <= FIELD_DB) // NAN is none
            caution_earth(sheet);
        return;
    case DW_NOISE_MOTOR:
        say(sheet, "Hum", hum, "with the motor off: its field, or its supply, makes it.",
            "with the motor off: the motor is not its cause; try the earth lead and the cartridge's leads.",
            "with the motor off: look at the switch's wiring and a supply that is left without load.");
        say(sheet, what, rumble, "with the motor off: motor and what it drives make it.",
            "with the motor off: room, stand or chain make it.", "with the motor off: room or stand make it.");
        return;
    case DW_NOISE_EARTH:
        say(sheet, "Hum", hum, "without the earth lead: the signal has a second earth path; leave it one point only.",
            "without the earth lead: the lead does nothing; check that it reaches arm and chassis (under 1 Ω).",
            "without the earth lead: the lead is doing its work.");
        caution_earth(sheet);
        return;
    case DW_NOISE_REPAIR:
        say(sheet, "Hum", hum, "after the work.", "by the work.", "after the work: look at earth and screens again.");
        say(sheet, what, rumble, "after the work.", "by the work.", "after the work: look at what was taken apart.");
        return;
    }
}

DwStatus dw_noise_compare(const DwNoise *first, const DwNoise *second, const DwNoiseReference *reference,
                          DwNoiseChange change, DwSheet *sheet, DwMessage *message)
{
    DwStatus status = dw_noise_check(first, message);
    if (status == DW_OK)
        status = dw_noise_check(second, message);
    if (status != DW_OK)
        return status;
    static const char *const columns[] = {"what|What||",
                                          "first|First|dB|1",
                                          "second|Second|dB|1",
                                          "change|Change|dB|1",
                                          "doubt|±|dB|1",
                                          "verdict|Result||",
                                          NULL};
    bool referred = !isnan(reference->rms);
    double unit = referred ? reference->rms * reference->rms : 0.5; // of a full-scale sine
    DwTable *table = dw_sheet_add_table(
        sheet, "noise.pair",
        referred ? "Before and after, dB against the reference" : "Before and after, dB of full scale", columns);
    const DwNoiseRun *one = dw_noise_stretch(first), *two = dw_noise_stretch(second);
    size_t unweighted = offsetof(DwNoiseSegment, groove.unweighted);
    Pair rumble = mean_pair(one, two, unweighted);
    bool unweighted_known = !*first->settings.unweighted.missing;
    if (unweighted_known)
        add_row(table, "rumble, unweighted", rumble, unit);
    if (!*first->settings.weighted.missing)
        add_row(table, "rumble, weighted", mean_pair(one, two, offsetof(DwNoiseSegment, groove.weighted)), unit);
    if (unweighted_known && first->settings.channels > 1 && second->settings.channels > 1) {
        add_row(table, "rumble, lateral", mean_pair(one, two, unweighted + DW_NOISE_LATERAL * sizeof(double)), unit);
        add_row(table, "rumble, vertical", mean_pair(one, two, unweighted + DW_NOISE_VERTICAL * sizeof(double)), unit);
    }
    DwNoiseHum one_hum, two_hum;
    bool one_heard, two_heard;
    double unused;
    DwNoiseMains one_mains = dw_noise_find_mains(first, one), two_mains = dw_noise_find_mains(second, two);
    dw_noise_find_hum(first, one, &one_mains, &one_hum);
    dw_noise_find_hum(second, two, &two_mains, &two_hum);
    Pair hum = {dw_noise_hum_total(&one_hum, &one_heard, &unused), dw_noise_hum_total(&two_hum, &two_heard, &unused),
                REPEAT_DB};
    add_row(table, "hum", hum, unit);
    add_row(table, "hiss", mean_pair(one, two, offsetof(DwNoiseSegment, groove.hiss)), unit);
    if (!one_heard && !two_heard)
        dw_sheet_remark(sheet, "Neither recording holds hum that stands out.");
    const char *what;
    double fall = rumble_fall(first, second, rumble, one_heard || two_heard, &what);
    say_change(sheet, change, one_heard || two_heard ? fall_db(hum) : NAN, unweighted_known ? fall : NAN, what);
    return DW_OK;
}
