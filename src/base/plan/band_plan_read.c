// SPDX-License-Identifier: MIT
#include "base/plan/band_plan.h"

#include "base/plan/band_plan_private.h"
#include "base/keyfile.h"
#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "base/tongue.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#define KIND(name) (1u << DW_PLAN_##name)
#define EVERY (KIND(TONE) | KIND(SWEEP) | KIND(STEPS) | KIND(SILENCE) | KIND(TWO_TONE))
#define SOUNDING (EVERY & ~KIND(SILENCE))

typedef enum {
    KEY_KIND,
    KEY_CHANNEL,
    KEY_FREQUENCY,
    KEY_FROM,
    KEY_TO,
    KEY_LEVEL,
    KEY_HIGH,
    KEY_CUT,
    KEY_LENGTH,
    KEY_GAP,
    KEY_RADIUS,
    KEYS
} BandKey;

// Which kinds of band take a key, and which cannot do without.
static const struct {
    const char *name;
    unsigned taken, needed;
} band_keys[KEYS] = {
    [KEY_KIND] = {"kind", EVERY, EVERY},
    [KEY_CHANNEL] = {"channel", SOUNDING, SOUNDING},
    [KEY_FREQUENCY] = {"frequency", KIND(TONE) | KIND(STEPS) | KIND(TWO_TONE),
                       KIND(TONE) | KIND(STEPS) | KIND(TWO_TONE)},
    [KEY_FROM] = {"from", KIND(SWEEP), KIND(SWEEP)},
    [KEY_TO] = {"to", KIND(SWEEP), KIND(SWEEP)},
    [KEY_LEVEL] = {"level", SOUNDING, KIND(STEPS)},
    [KEY_HIGH] = {"high", KIND(TWO_TONE), 0},
    [KEY_CUT] = {"cut", KIND(SWEEP), 0},
    [KEY_LENGTH] = {"length", EVERY, EVERY},
    [KEY_GAP] = {"gap", EVERY, 0},
    [KEY_RADIUS] = {"radius", EVERY, 0},
};

static const DwQuantity frequency_row = {.key = "frequency",
                                         .label = "A frequency",
                                         .dimension = DW_DIMENSION_FREQUENCY,
                                         .unit = "Hz",
                                         .plausible = {1000, 20000},
                                         .possible = {0.5, 50000}};
static const DwQuantity length_row = {.key = "length",
                                      .label = "A band's length",
                                      .dimension = DW_DIMENSION_TIME,
                                      .unit = "s",
                                      .plausible = {30, 3600},
                                      .possible = {0.5, 3600}};
static const DwQuantity silence_row = {.key = "gap",
                                       .label = "A gap",
                                       .dimension = DW_DIMENSION_TIME,
                                       .unit = "s",
                                       .plausible = {3, 60},
                                       .possible = {0, 600}};
static const DwQuantity radius_row = {.key = "radius",
                                      .label = "A groove's radius",
                                      .dimension = DW_DIMENSION_LENGTH,
                                      .unit = "mm",
                                      .plausible = {100, 150},
                                      .possible = {20, 260}};
static const DwQuantity high_row = {.key = "high",
                                    .label = "The higher tone over the lower",
                                    .dimension = DW_DIMENSION_LEVEL,
                                    .unit = "dB",
                                    .plausible = {-12, 0},
                                    .possible = {-60, 20}};
// One group of a band while it is read.
typedef struct {
    DwPlanReading *reading;
    DwBandPlanBand *band;
    const char *group;
    const DwKeyLine *given[KEYS]; // the first of each
} Group;

static void put_wrong(Group *group, unsigned line, const char *text, const char *said)
{
    dw_plan_trouble_put(group->reading->troubles, line, group->band->number, false,
                        dw_text_format("[%s] %s", group->group, text), dw_text_format("[%s] %s", group->group, said));
    group->band->broken = true;
}

static void wrong(Group *group, unsigned line, const char *format, ...) __attribute__((format(printf, 3, 4)));
static void wrong(Group *group, unsigned line, const char *format, ...)
{
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    char *text = dw_say_in(NULL, format, arguments), *said = dw_say_in(dw_tongue_of_program(), format, again);
    put_wrong(group, line, text, said);
    free(said);
    free(text);
    va_end(again);
    va_end(arguments);
}

static double read_number(Group *group, BandKey key, const DwQuantity *row)
{
    const DwKeyLine *line = group->given[key];
    if (!line || !(band_keys[key].taken & (1u << group->band->kind)))
        return NAN;
    DwQuantity named = *row;
    named.key = band_keys[key].name;
    DwMessage message;
    double value = NAN;
    if (dw_quantity_read(&named, line->value, &value, NULL, &message) != DW_OK)
        put_wrong(group, line->line, message.text, dw_message_said(&message));
    return value;
}

// The word of LINE among COUNT WORDS, or -1 after saying that it is none.
static int read_word(Group *group, const DwKeyLine *line, const char *const *words, int count)
{
    DwText all = {0};
    for (int i = 0; i < count; i++) {
        if (strcmp(line->value, words[i]) == 0) {
            dw_text_clear(&all);
            return i;
        }
        dw_text_add(&all, "%s%s", i ? ", " : "", words[i]);
    }
    wrong(group, line->line, "'%.*s' is no %s. Use one of: %s.", dw_text_whole(line->value, 60), line->value, line->key,
          all.chars);
    dw_text_clear(&all);
    return -1;
}

typedef struct {
    double number;
    char unit[16];
} Typed;

// Parts TEXT into at most MOST numbers with their units; a unit also serves the
// bare numbers before it. Returned: how many, 0 when it is no such list.
static size_t split_list(const char *text, Typed *typed, size_t most)
{
    size_t count = 0, bare = 0;
    while (*text) {
        if (count == most)
            return 0;
        text = dw_text_number_in_list(text, &typed[count].number);
        if (!text)
            return 0;
        text += strspn(text, " \t,");
        size_t length = isdigit((unsigned char)*text) || strchr("+-.", *text) ? 0 : strcspn(text, " \t,");
        if (length >= sizeof typed->unit)
            return 0;
        memcpy(typed[count].unit, text, length);
        typed[count++].unit[length] = 0;
        for (; length && bare < count; bare++)
            memcpy(typed[bare].unit, typed[count - 1].unit, sizeof typed->unit);
        text += length;
        text += strspn(text, " \t,");
    }
    return count;
}

// The peak velocity of a level typed, at FREQUENCY_HZ; NAN after saying why there is none.
static double velocity_of(Group *group, const DwKeyLine *line, const Typed *typed, double frequency_hz)
{
    double reference_cm_s = group->reading->plan->reference_cm_s;
    const DwUnit *unit = dw_unit_any(typed->unit);
    if (typed->unit[0] && unit && unit->dimension == DW_DIMENSION_VELOCITY && typed->number > 0)
        return dw_unit_convert(typed->number, unit, dw_unit_find(DW_DIMENSION_VELOCITY, "cm/s"));
    if (typed->unit[0] && unit && unit->dimension == DW_DIMENSION_LENGTH && typed->number > 0)
        return 2 * M_PI * frequency_hz * dw_unit_convert(typed->number, unit, dw_unit_find(DW_DIMENSION_LENGTH, "cm"));
    if (typed->unit[0] && unit && unit->dimension == DW_DIMENSION_LEVEL && !isnan(reference_cm_s))
        return reference_cm_s * pow(10, typed->number / 20);
    if (unit && unit->dimension == DW_DIMENSION_LEVEL)
        wrong(
            group, line->line,
            "level in dB needs the velocity of 0 dB. Add reference = 5 cm/s (or what the record states) to [record].");
    else if (unit && typed->unit[0] && typed->number <= 0)
        wrong(group, line->line, "level must be above zero. Give it as in level = 5 cm/s.");
    else
        wrong(group, line->line, "level needs a unit: cm/s, um, or dB over the record's reference.");
    return NAN;
}

static bool belongs(const DwKeyLine *line, const char *group, const char *key)
{
    return strcmp(line->group, group) == 0 && strcmp(line->key, key) == 0;
}

// All levels of the group, which may stand on several lines, as velocities.
static size_t read_levels(Group *group, double frequency_hz, double *velocity_cm_s, size_t most)
{
    size_t count = 0;
    const DwKeyfile *file = group->reading->file;
    for (size_t i = 0; i < file->count; i++) {
        const DwKeyLine *line = &file->lines[i];
        if (!belongs(line, group->group, "level"))
            continue;
        Typed typed[DW_BAND_PLAN_STEPS_MOST];
        size_t here = split_list(line->value, typed, most - count);
        if (here == 0) {
            wrong(group, line->line,
                  most == 1 ? "level must be one number with its unit, as in level = 5 cm/s."
                            : N_("level must be up to 16 numbers with their unit, as in level = 40 50 60 um."));
            return 0;
        }
        for (size_t k = 0; k < here; k++)
            velocity_cm_s[count++] = velocity_of(group, line, &typed[k], frequency_hz);
    }
    return count;
}

static void read_level(Group *group, double frequency_hz)
{
    if (group->given[KEY_LEVEL] && !group->band->broken)
        read_levels(group, frequency_hz, &group->band->velocity_cm_s, 1);
}

static void read_steps(Group *group)
{
    DwBandPlanBand *band = group->band;
    double velocity_cm_s[DW_BAND_PLAN_STEPS_MOST];
    size_t count = read_levels(group, band->frequency_hz, velocity_cm_s, DW_BAND_PLAN_STEPS_MOST);
    if (band->broken)
        return;
    if (count < 2) {
        wrong(group, group->given[KEY_LEVEL]->line, "steps need two levels or more, as in level = 40 50 60 um.");
        return;
    }
    band->steps_um = dw_memory_new(count, sizeof *band->steps_um);
    band->step_count = count;
    band->velocity_cm_s = velocity_cm_s[0];
    for (size_t i = 0; i < count; i++) {
        band->steps_um[i] = velocity_cm_s[i] / (2 * M_PI * band->frequency_hz) * 1e4;
        band->velocity_cm_s = fmax(band->velocity_cm_s, velocity_cm_s[i]);
    }
}

static void read_two_tone(Group *group)
{
    DwBandPlanBand *band = group->band;
    const DwKeyLine *line = group->given[KEY_FREQUENCY];
    Typed typed[2];
    double tone_hz[2] = {0, 0};
    bool good = split_list(line->value, typed, 2) == 2;
    for (size_t i = 0; i < 2 && good; i++) {
        const DwUnit *unit = dw_unit_find(DW_DIMENSION_FREQUENCY, typed[i].unit[0] ? typed[i].unit : "Hz");
        good = unit != NULL;
        if (good)
            tone_hz[i] = dw_unit_convert(typed[i].number, unit, dw_unit_find(DW_DIMENSION_FREQUENCY, "Hz"));
        good = good && tone_hz[i] >= frequency_row.possible.low && tone_hz[i] <= frequency_row.possible.high;
    }
    if (!good || !(tone_hz[0] < tone_hz[1])) {
        wrong(group, line->line,
              "frequency of two tones must be the lower and the higher, as in frequency = 400 Hz 4 kHz.");
        return;
    }
    band->from_hz = tone_hz[0];
    band->frequency_hz = tone_hz[1];
    band->high_db = group->given[KEY_HIGH] ? read_number(group, KEY_HIGH, &high_row) : -12;
    read_level(group, band->from_hz);
}

static void read_sweep(Group *group)
{
    DwBandPlanBand *band = group->band;
    band->from_hz = read_number(group, KEY_FROM, &frequency_row);
    band->to_hz = read_number(group, KEY_TO, &frequency_row);
    // Below the first turnover the recorded characteristic would cut the arm's
    // resonance at constant amplitude; low sweeps state their own, velocity at first.
    band->cut = fmax(band->from_hz, band->to_hz) >= 1000 ? DW_PLAN_CUT_RIAA : DW_PLAN_CUT_VELOCITY;
    if (group->given[KEY_CUT]) {
        const char *words[DW_PLAN_CUTS];
        for (int i = 0; i < DW_PLAN_CUTS; i++)
            words[i] = dw_band_plan_cut_word((DwPlanCut)i);
        int cut = read_word(group, group->given[KEY_CUT], words, DW_PLAN_CUTS);
        band->cut = cut < 0 ? band->cut : (DwPlanCut)cut;
    }
    if (!band->broken && band->from_hz == band->to_hz)
        wrong(group, group->given[KEY_TO]->line,
              "from and to are equal: a sweep needs two ends. A steady tone is kind = tone.");
    read_level(group, dw_band_plan_sweep_level_hz(band->from_hz, band->to_hz));
}

static void read_kind(Group *group)
{
    DwBandPlanBand *band = group->band;
    switch (band->kind) {
    case DW_PLAN_TONE:
        band->frequency_hz = read_number(group, KEY_FREQUENCY, &frequency_row);
        read_level(group, band->frequency_hz);
        break;
    case DW_PLAN_STEPS:
        band->frequency_hz = read_number(group, KEY_FREQUENCY, &frequency_row);
        read_steps(group);
        break;
    case DW_PLAN_SWEEP:
        read_sweep(group);
        break;
    case DW_PLAN_TWO_TONE:
        read_two_tone(group);
        break;
    case DW_PLAN_SILENCE:
    case DW_PLAN_KINDS:
        break;
    }
}

// Says which keys are missing and which mean nothing here.
static void check_keys(Group *group)
{
    unsigned kind = 1u << group->band->kind;
    const char *word = dw_band_plan_kind_word(group->band->kind);
    for (int key = 0; key < KEYS; key++) {
        const DwKeyLine *given = group->given[key];
        if (!given && (band_keys[key].needed & kind))
            wrong(group, group->band->line, "%s is missing. A band of kind %s needs it.", band_keys[key].name, word);
        if (given && !(band_keys[key].taken & kind))
            dw_plan_trouble_add(group->reading->troubles, given->line, group->band->number, true,
                                "[%s] %s means nothing for a band of kind %s. Leave it out.", group->group,
                                band_keys[key].name, word);
    }
}

// The key meant by WORD: one that it begins, or the nearest; NULL when nothing is near.
static const char *near_key(const char *word)
{
    const char *near = NULL;
    size_t least = 3;
    for (int key = 0; key < KEYS; key++) {
        const char *name = band_keys[key].name;
        bool begins = strlen(word) >= 3 && strncmp(word, name, strlen(word)) == 0;
        size_t distance = begins ? 0 : dw_text_distance(word, name);
        if (distance < least) {
            least = distance;
            near = name;
        }
    }
    return near;
}

static void refuse_key(Group *group, const DwKeyLine *line)
{
    const char *near = near_key(line->key);
    int whole = dw_text_whole(line->key, 40);
    if (near)
        wrong(group, line->line, "'%.*s' is no key of a band. Did you mean %s?", whole, line->key, near);
    else
        wrong(group, line->line, "'%.*s' is no key of a band. Leave it out.", whole, line->key);
}

static void collect_keys(Group *group)
{
    const DwKeyfile *file = group->reading->file;
    for (size_t i = 0; i < file->count; i++) {
        const DwKeyLine *line = &file->lines[i];
        if (strcmp(line->group, group->group) != 0)
            continue;
        int key = 0;
        while (key < KEYS && strcmp(line->key, band_keys[key].name) != 0)
            key++;
        if (key == KEYS)
            refuse_key(group, line);
        else if (!group->given[key])
            group->given[key] = line;
        else if (key != KEY_LEVEL)
            wrong(
                group, line->line,
                "%s is given twice, first in line %u. Two bands of one number? Number them in the order of the record.",
                line->key, group->given[key]->line);
    }
}

static void read_channel(Group *group)
{
    const char *words[DW_PLAN_CHANNELS];
    for (int i = 0; i < DW_PLAN_CHANNELS; i++)
        words[i] = dw_band_plan_channel_word((DwPlanChannel)i);
    group->band->channel = DW_PLAN_LATERAL;
    if (!group->given[KEY_CHANNEL] || group->band->kind == DW_PLAN_SILENCE)
        return;
    int channel = read_word(group, group->given[KEY_CHANNEL], words, DW_PLAN_CHANNELS);
    group->band->channel = channel < 0 ? DW_PLAN_LATERAL : (DwPlanChannel)channel;
}

static void read_group(Group *group)
{
    collect_keys(group);
    const char *words[DW_PLAN_KINDS];
    for (int i = 0; i < DW_PLAN_KINDS; i++)
        words[i] = dw_band_plan_kind_word((DwPlanKind)i);
    if (!group->given[KEY_KIND]) {
        wrong(group, group->band->line,
              "kind is missing. Say what the band holds: tone, sweep, steps, silence or two-tone.");
        return;
    }
    int kind = read_word(group, group->given[KEY_KIND], words, DW_PLAN_KINDS);
    if (kind < 0)
        return;
    group->band->kind = (DwPlanKind)kind;
    check_keys(group);
    read_channel(group);
    group->band->length_s = read_number(group, KEY_LENGTH, &length_row);
    group->band->radius_mm = read_number(group, KEY_RADIUS, &radius_row);
    if (group->given[KEY_GAP])
        group->band->gap_s = read_number(group, KEY_GAP, &silence_row);
    if (!group->band->broken)
        read_kind(group);
}

void dw_band_plan_read_band(DwPlanReading *reading, const char *name, DwBandPlanBand *band)
{
    Group group = {.reading = reading, .band = band, .group = name};
    read_group(&group);
}
