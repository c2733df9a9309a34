// SPDX-License-Identifier: MIT
// `strobe`: bars, the speed at which they really stand, the error from drifting
// bars, and a disc to print.
#include "base/usual_speed.h"
#include "chart/template/strobe_disc.h"
#include "physics/strobe.h"
#include "procedure/registry/procedures.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

// At and below this many flashes a second light may provoke seizures.
static const double unsafe_hz = 60;

// Of the lamp's frequency, 95 %: the mains at most times, a crystal lamp.
static const double mains_percent = 0.1, crystal_percent = 0.01;

static double lamp_hz(const DwInputs *inputs)
{
    if (dw_inputs_given(inputs, "strobe.flash"))
        return dw_inputs_in(inputs, "strobe.flash", "Hz");
    return dw_strobe_mains_flash_hz(dw_inputs_in(inputs, "deck.mains", "Hz"));
}

static double lamp_percent(const DwInputs *inputs)
{
    return dw_inputs_given(inputs, "strobe.flash") ? crystal_percent : mains_percent;
}

static void add_drift(DwSheet *sheet, const DwInputs *inputs, double flash, int bars, int step, double nominal)
{
    double drift = dw_inputs_in(inputs, "strobe.drift", "");
    if (isnan(drift)) {
        dw_sheet_not_measured(sheet, "strobe.error", "needs strobe.drift, the bars that pass a fixed mark in a minute");
        return;
    }
    double speed = dw_strobe_drifting_rpm(flash, bars, step, drift);
    double doubt = hypot(dw_strobe_drift_percent(flash, step, 1), lamp_percent(inputs));
    dw_sheet_add_reading(sheet, "strobe.speed", "Speed", speed, "rpm", 3)->uncertainty = speed * doubt / 100;
    DwReading *reading =
        dw_sheet_add_reading(sheet, "strobe.error", "Speed error", 100 * (speed / nominal - 1), "%", 3);
    reading->uncertainty = doubt;
    dw_reading_set_method(reading, "standing speed and bars a minute, one bar of doubt, and the lamp's: the mains is "
                                   "within 0.1 % at most times");
    reading = dw_sheet_add_reading(sheet, "strobe.drift_error", "Of it by the drift",
                                   dw_strobe_drift_percent(flash, step, drift), "%", 3);
    dw_reading_set_method(reading, "against the speed at which the ring stands");
}

static void remark_standing(DwSheet *sheet, double flash, int bars, int step, double nominal)
{
    double standing = dw_strobe_standing_rpm(flash, bars, step);
    double off = 100 * (standing / nominal - 1);
    if (fabs(off) < 1e-6) {
        dw_sheet_remark(sheet, "%d bars at %g flashes a second stand still at exactly %.4g rpm.", bars, flash, nominal);
        return;
    }
    double back = nominal * bars - 60 * flash * step;
    dw_sheet_remark(sheet,
                    "%d bars at %g flashes a second stand still at %.2f rpm, %.2f %% %s for %.4g. On a deck that is "
                    "right they drift %s at %.1f bars a minute.",
                    bars, flash, standing, fabs(off), off > 0 ? "fast" : "slow", nominal,
                    back < 0 ? "backward" : "forward", fabs(back));
}

static void add_rings(DwSheet *sheet, double flash)
{
    static const char *const columns[] = {"nominal|Nominal|rpm|2",    "flash|Flashes|Hz|1",       "bars|Bars||0",
                                          "standing|Stands at|rpm|4", "error|That is off by|%|3", NULL};
    DwTable *table = dw_sheet_add_table(sheet, "strobe.rings", "Rings", columns);
    double lamps[] = {100, 120, flash};
    size_t lamp_count = flash == 100 || flash == 120 ? 2 : 3;
    for (size_t lamp = 0; lamp < lamp_count; lamp++)
        for (size_t i = DW_USUAL_DECK_FIRST; i < DW_USUAL_SPEEDS; i++) {
            int bars = dw_strobe_bars(lamps[lamp], dw_usual_speed[i].rpm);
            double standing = dw_strobe_standing_rpm(lamps[lamp], bars, 1);
            size_t row = dw_table_add_row(table);
            dw_table_set_number(table, row, 0, dw_usual_speed[i].rpm);
            dw_table_set_number(table, row, 1, lamps[lamp]);
            dw_table_set_number(table, row, 2, bars);
            dw_table_set_number(table, row, 3, standing);
            dw_table_set_number(table, row, 4, 100 * (standing / dw_usual_speed[i].rpm - 1));
        }
}

static void add_cautions(DwSheet *sheet, double flash, bool by_mains)
{
    if (flash <= unsafe_hz)
        dw_sheet_caution(sheet,
                         "A lamp at %g flashes a second can provoke seizures in photosensitive people (3 to 60 Hz, "
                         "worst at 15 to 25). Use one of 100 or more.",
                         flash);
    dw_sheet_caution(sheet, "Flicker: watch a strobe disc only under a lamp of 100 flashes a second or more, never a "
                            "screen or phone lamp made to flash. Stop if anyone feels unwell.");
    dw_sheet_caution(sheet, "Under this light moving parts can seem to stand still. Keep fingers off pulley and belt.");
    if (!by_mains)
        dw_sheet_remark(sheet, "The lamp's own rate is the reference: the deck is compared with no more than that.");
    else
        dw_sheet_remark(sheet,
                        "The mains is the reference: it is off by some 0.05 to 0.1 %% at most times (1 %% is allowed). "
                        "Many LED lamps do not flash with the mains, and some not at all.");
}

static DwStatus read_ring(const DwInputs *inputs, double drawn, int *bars, DwMessage *message)
{
    double ring = dw_inputs_given(inputs, "strobe.ring") ? dw_inputs_in(inputs, "strobe.ring", "") : drawn;
    if (ring != floor(ring))
        return dw_fail(message, DW_BAD_INPUT,
                       "strobe.ring=%g: a ring has a whole number of bars. Count them again; where light and dark were "
                       "both counted, take half.",
                       ring);
    *bars = (int)ring;
    return DW_OK;
}

// Says it where the ring is seen with more bars than it has.
static void remark_images(DwSheet *sheet, int images, int bars, int ring)
{
    if (images > 1)
        dw_sheet_remark(sheet,
                        "A fraction of a bar passes in each flash: the ring of %d seems to stand with %d paler bars. "
                        "Those are the bars that count here.",
                        ring, bars);
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    double flash = lamp_hz(inputs), nominal = dw_inputs_in(inputs, "deck.speed", "rpm");
    bool own = dw_inputs_given(inputs, "strobe.ring");
    int ring = 0;
    DwStatus status = read_ring(inputs, dw_strobe_bars(flash, nominal), &ring, message);
    if (status != DW_OK)
        return status;
    int images = dw_strobe_images(flash, ring, nominal), bars = ring * images;
    int step = dw_strobe_step(flash, bars, nominal);
    double standing = dw_strobe_standing_rpm(flash, bars, step);
    dw_reading_set_method(dw_sheet_add_reading(sheet, "strobe.bars", "Bars on the ring", ring, "", 0),
                          own ? "as counted" : "flashes a minute over speed, to the nearest whole bar");
    DwReading *reading = dw_sheet_add_reading(sheet, "strobe.standing", "Bars stand still at", standing, "rpm", 4);
    reading->uncertainty = standing * lamp_percent(inputs) / 100;
    dw_reading_set_method(reading, "flashes a minute over bars; as sure as the lamp");
    dw_sheet_add_reading(sheet, "strobe.standing_error", "That is off the nominal by", 100 * (standing / nominal - 1),
                         "%", 3)
        ->uncertainty = lamp_percent(inputs);
    remark_images(sheet, images, bars, ring);
    add_drift(sheet, inputs, flash, bars, step, nominal);
    remark_standing(sheet, flash, bars, step, nominal);
    add_rings(sheet, flash);
    add_cautions(sheet, flash, !dw_inputs_given(inputs, "strobe.flash"));
    return DW_OK;
}

static void add_ring(DwStrobeDisc *disc, double flash, double nominal, const char *words, const char *lamp)
{
    DwStrobeRing *ring = &disc->rings[disc->ring_count++];
    ring->bars = dw_strobe_bars(flash, nominal);
    double standing = dw_strobe_standing_rpm(flash, ring->bars, 1);
    snprintf(ring->label, sizeof ring->label, "%s · %s", words, lamp);
    double off = 100 * (standing / nominal - 1);
    if (fabs(off) < 0.0005)
        snprintf(ring->standing, sizeof ring->standing, "%s rpm", words);
    else
        snprintf(ring->standing, sizeof ring->standing, "%.2f rpm (%+.2f %%)", standing, off);
}

static DwStatus print(const DwRequest *request, const char *path, DwMessage *message)
{
    const DwInputs *inputs = request->inputs;
    DwStrobeDisc disc = {.letter = strcmp(dw_inputs_word(inputs, "strobe.paper"), "letter") == 0};
    for (size_t i = DW_USUAL_DECK_FIRST; i < DW_USUAL_SPEEDS; i++) {
        add_ring(&disc, 120, dw_usual_speed[i].rpm, dw_usual_speed[i].words, "60 Hz");
        add_ring(&disc, 100, dw_usual_speed[i].rpm, dw_usual_speed[i].words, "50 Hz");
    }
    if (dw_inputs_given(inputs, "strobe.flash")) {
        double flash = dw_inputs_in(inputs, "strobe.flash", "Hz"), nominal = dw_inputs_in(inputs, "deck.speed", "rpm");
        const DwUsualSpeed *usual = dw_usual_speed_near(nominal, 0.001);
        char words[20], lamp[20];
        if (flash <= unsafe_hz)
            return dw_fail(message, DW_BAD_INPUT,
                           "No ring is drawn for a lamp of %g flashes a second: it can provoke "
                           "seizures. Use a lamp of 100 or more.",
                           flash);
        if (dw_strobe_bars(flash, nominal) > DW_STROBE_BARS_MOST)
            return dw_fail(message, DW_BAD_INPUT,
                           "A ring of %d bars is too fine to print. Use a slower lamp, below %.0f "
                           "flashes a second.",
                           dw_strobe_bars(flash, nominal), DW_STROBE_BARS_MOST * nominal / 60);
        snprintf(words, sizeof words, "%.4g", nominal);
        snprintf(lamp, sizeof lamp, "LED %g Hz", flash);
        add_ring(&disc, flash, nominal, usual && fabs(nominal - usual->rpm) < 0.01 ? usual->words : words, lamp);
    }
    return dw_strobe_disc_write(&disc, path, message);
}

static const char *const quantities[] = {
    "deck.speed", "deck.mains", "deck.class", "strobe.flash", "strobe.ring", "strobe.drift", "strobe.paper", NULL,
};

const DwProcedure dw_procedure_strobe = {
    .name = "strobe",
    .title = "Stroboscope disc",
    .summary = "Work out a strobe disc's bars and the speed they stand at, and print the disc.",
    .quantities = quantities,
    .run = run,
    .print = print,
};
