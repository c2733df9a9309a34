// SPDX-License-Identifier: MIT
// A trial of tracing: decks drawn by seed with known faults, recorded by the
// synth and measured, and a table of how often the guilty part was named. The
// drives are described to the measurement as a technician would take their
// dimensions, with his errors.
// Usage: trace-trial [DECKS [FIRST_SEED]]; exit 1 when less was reached than is asked for.
#include "base/text.h"
#include "measure/speed/speed.h"
#include "physics/drive.h"
#include "physics/rates.h"
#include "synth/random.h"
#include "synth/synth.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double SECONDS = 60, TONE_HZ = 3150;

typedef enum {
    BELT_HUMP,
    ECCENTRIC_PULLEY,
    DIMPLED_IDLER,
    BENT_SPINDLE,
    OFF_CENTRE_RECORD,
    WARPED_RECORD,
    COGGING,
    SERVO_HUNTING,
    MAINS_VIBRATION,
    FAULT_COUNT
} Fault;

static const struct {
    const char *name;
    DwPart guilty;
    bool belt, idler, direct; // decks that can have it
} faults[FAULT_COUNT] = {
    [BELT_HUMP] = {"belt hump", DW_PART_BELT, true, false, false},
    [ECCENTRIC_PULLEY] = {"eccentric pulley", DW_PART_MOTOR, true, true, false},
    [DIMPLED_IDLER] = {"dimpled idler", DW_PART_IDLER, false, true, false},
    [BENT_SPINDLE] = {"bent spindle", DW_PART_PLATTER, true, true, true},
    [OFF_CENTRE_RECORD] = {"off-centre record", DW_PART_RECORD, true, true, true},
    [WARPED_RECORD] = {"warped record", DW_PART_RECORD, true, true, true},
    [COGGING] = {"cogging", DW_PART_POLE, false, false, true},
    [SERVO_HUNTING] = {"servo hunting", DW_PART_UNKNOWN, false, false, true},
    [MAINS_VIBRATION] = {"mains vibration", DW_PART_MAINS, true, true, true},
};

// A deck as it truly is, and as it is described.
typedef struct {
    DwRandom random;
    DwDrive described;
    double nominal_rpm, platter_hz, mains_hz;
    double rate_hz[DW_PART_COUNT]; // true; NAN where there is no such part
    Fault faults[2];
    size_t fault_count;
    DwText operands; // of the recording
} Deck;

static double between(Deck *deck, double low, double high)
{
    return dw_random_between(&deck->random, low, high);
}

static double taken(Deck *deck, double value, double error)
{
    return value + error * dw_random_normal(&deck->random);
}

// --- drawing decks -------------------------------------------------------------

// A mains motor turns with the mains, one on a supply of its own as its maker chose.
static double draw_motor(Deck *deck, double least_rpm, double most_rpm)
{
    DwDrive *drive = &deck->described;
    if (between(deck, 0, 1) < 0.6) {
        static const double poles[] = {4, 8, 16, 24};
        do
            drive->motor_poles = poles[(size_t)between(deck, 0, 4)];
        while (dw_drive_synchronous_rpm(50, drive->motor_poles) < least_rpm ||
               dw_drive_synchronous_rpm(60, drive->motor_poles) > most_rpm);
        return dw_drive_synchronous_rpm(deck->mains_hz, drive->motor_poles) / 60;
    }
    double rpm = between(deck, least_rpm, most_rpm);
    drive->motor_rpm = taken(deck, rpm, 0.005 * rpm);
    return rpm / 60;
}

// The centre distance for which the belt is as long as LENGTH; the path is then the wanted one.
static double centre_for(DwBeltPath path, double length, double least, double most)
{
    for (int i = 0; i < 60; i++) {
        path.centre_mm = (least + most) / 2;
        if (dw_drive_belt_length_mm(&path) < length)
            least = path.centre_mm;
        else
            most = path.centre_mm;
    }
    return (least + most) / 2;
}

static void draw_belt_drive(Deck *deck)
{
    DwDrive *drive = &deck->described;
    // A fast motor hard by the rim makes the belt turn with the platter.
    bool alike = between(deck, 0, 1) < 0.2;
    double motor_hz = alike ? draw_motor(deck, 600, 1500) : draw_motor(deck, 200, 900), rim = between(deck, 130, 300),
           thickness = between(deck, 0.5, 1.3);
    double pulley = (rim + thickness) * deck->platter_hz / motor_hz - thickness;
    double centre = between(deck, fmax(0.55 * rim, 0.5 * (rim + pulley) + 5), 0.5 * rim + 130);
    DwBeltPath path = {rim + thickness, pulley + thickness, centre};
    if (alike)
        path.centre_mm = centre = centre_for(path, M_PI * (rim + thickness) * (1 + between(deck, -0.005, 0.005)),
                                             0.505 * (rim + pulley), rim);
    double length = dw_drive_belt_length_mm(&path);
    deck->rate_hz[DW_PART_BELT] = M_PI * (rim + thickness) * deck->platter_hz / length;
    deck->rate_hz[DW_PART_MOTOR] = motor_hz;
    drive->rim_mm = taken(deck, rim, 0.1);
    drive->pulley_mm = taken(deck, pulley, 0.02);
    drive->belt_thickness_mm = taken(deck, thickness, 0.05);
    if (between(deck, 0, 1) < 0.7)
        drive->centre_mm = taken(deck, centre, 0.5);
    else // only the belt was measured, off the deck
        drive->belt_length_mm = taken(deck, length / between(deck, 1.02, 1.05) - M_PI * thickness, 0.5);
}

static void draw_idler_drive(Deck *deck)
{
    DwDrive *drive = &deck->described;
    double motor_hz = draw_motor(deck, 1000, 1900), rim = between(deck, 230, 290), idler = between(deck, 28, 60);
    deck->rate_hz[DW_PART_MOTOR] = motor_hz;
    deck->rate_hz[DW_PART_IDLER] = deck->platter_hz * rim / idler;
    drive->rim_mm = taken(deck, rim, 0.1);
    drive->idler_mm = taken(deck, idler, 0.1);
    drive->pulley_mm = taken(deck, rim * deck->platter_hz / motor_hz, 0.02);
}

static void draw_direct_drive(Deck *deck)
{
    static const double poles[] = {8, 12, 16, 20, 24};
    deck->described.direct_poles = poles[(size_t)between(deck, 0, 5)];
    deck->rate_hz[DW_PART_POLE] = deck->described.direct_poles * deck->platter_hz;
}

static void draw_drive(Deck *deck)
{
    double kind = between(deck, 0, 1);
    deck->nominal_rpm = between(deck, 0, 1) < 0.75 ? 100.0 / 3 : 45;
    deck->platter_hz = deck->nominal_rpm / 60 * (1 + between(deck, -0.01, 0.01));
    double nominal_mains = between(deck, 0, 1) < 0.5 ? 50 : 60;
    deck->mains_hz = nominal_mains * (1 + 0.0005 * dw_random_normal(&deck->random));
    for (size_t i = 0; i < DW_PART_COUNT; i++)
        deck->rate_hz[i] = NAN;
    deck->rate_hz[DW_PART_PLATTER] = deck->rate_hz[DW_PART_RECORD] = deck->platter_hz;
    deck->rate_hz[DW_PART_MAINS] = deck->mains_hz;
    dw_drive_init(&deck->described, kind < 0.5 ? DW_DRIVE_BELT : kind < 0.75 ? DW_DRIVE_IDLER : DW_DRIVE_DIRECT);
    deck->described.mains_hz = nominal_mains;
    switch (deck->described.kind) {
    case DW_DRIVE_BELT:
        draw_belt_drive(deck);
        break;
    case DW_DRIVE_IDLER:
        draw_idler_drive(deck);
        break;
    case DW_DRIVE_DIRECT:
        draw_direct_drive(deck);
        break;
    }
    if (!isnan(deck->described.motor_poles))
        deck->rate_hz[DW_PART_POLE] = deck->described.motor_poles * deck->rate_hz[DW_PART_MOTOR];
}

// --- drawing faults -------------------------------------------------------------

static void add_line(Deck *deck, double hz, double percent)
{
    dw_text_add(&deck->operands, "fault.line=%.6fHz:%.5f%%\n", hz, percent);
}

// Whether a part of the deck comes at HZ or so near that the recording cannot tell.
static bool is_someones(const Deck *deck, double hz)
{
    for (size_t i = 0; i < DW_PART_COUNT; i++)
        for (unsigned h = 1; h <= 8 && !isnan(deck->rate_hz[i]); h++)
            if (fabs(hz - h * deck->rate_hz[i]) < 1 / SECONDS + 0.006 * hz)
                return true;
    return false;
}

static void add_fault(Deck *deck, Fault fault)
{
    double size = 0.05 * exp(between(deck, 0, log(6))); // 0.05 to 0.3 % peak
    double hz = deck->rate_hz[faults[fault].guilty];
    switch (fault) {
    case BELT_HUMP:
        dw_text_add(&deck->operands, "synth.belt_rate=%.6fHz\nfault.belt_hump=%.5f%%\n", hz, size);
        break;
    case ECCENTRIC_PULLEY:
        add_line(deck, hz, size);
        add_line(deck, 2 * hz, 0.1 * size);
        break;
    case DIMPLED_IDLER:
        for (unsigned h = 1; h <= 4; h++)
            add_line(deck, h * hz, size * (1.2 - 0.2 * h));
        break;
    case BENT_SPINDLE:
        dw_text_add(&deck->operands, "fault.wow=%.5f%%\nfault.wow_second=%.5f%%\n", size, 0.1 * size);
        break;
    case OFF_CENTRE_RECORD:
        dw_text_add(&deck->operands, "record.radius=100mm\nfault.eccentricity=%.5fmm\n", size);
        break;
    case WARPED_RECORD:
        add_line(deck, hz, 0.4 * size);
        add_line(deck, 2 * hz, size);
        add_line(deck, 3 * hz, 0.2 * size);
        break;
    case COGGING:
        add_line(deck, hz, size);
        add_line(deck, 2 * hz, 0.3 * size);
        break;
    case SERVO_HUNTING:
        do
            hz = between(deck, 1, 7);
        while (is_someones(deck, hz));
        add_line(deck, hz, size);
        break;
    case MAINS_VIBRATION:
        add_line(deck, 2 * hz, size);
        break;
    case FAULT_COUNT:
        break;
    }
}

// Platter and record turn alike: only reseating tells them apart.
static bool is_same(DwPart a, DwPart b)
{
    return a == b || (a <= DW_PART_RECORD && b <= DW_PART_RECORD);
}

static bool can_have(const Deck *deck, Fault fault)
{
    DwDriveKind kind = deck->described.kind;
    bool can = kind == DW_DRIVE_BELT    ? faults[fault].belt
               : kind == DW_DRIVE_IDLER ? faults[fault].idler
                                        : faults[fault].direct;
    for (size_t i = 0; i < deck->fault_count; i++) // two faults are two different parts'
        if (is_same(faults[deck->faults[i]].guilty, faults[fault].guilty))
            can = false;
    return can;
}

static void draw_faults(Deck *deck)
{
    double how = between(deck, 0, 1);
    size_t wanted = how < 0.12 ? 0 : how < 0.8 ? 1 : 2;
    while (deck->fault_count < wanted) {
        Fault fault = (Fault)between(deck, 0, FAULT_COUNT);
        if (!can_have(deck, fault))
            continue;
        deck->faults[deck->fault_count++] = fault;
        add_fault(deck, fault);
    }
    // What no deck is without.
    add_line(deck, deck->platter_hz * 1.0, between(deck, 0.001, 0.006));
    dw_text_add(&deck->operands, "fault.flutter_noise=%.4f%%\nsynth.snr=%.1fdB\n", between(deck, 0.005, 0.05),
                between(deck, 40, 60));
}

static void draw_deck(Deck *deck, unsigned seed)
{
    *deck = (Deck){.fault_count = 0};
    dw_random_init(&deck->random, seed, DW_STREAM_LINES);
    draw_drive(deck);
    dw_text_add(&deck->operands,
                "synth.seed=%u\nsynth.rate=8000\nsynth.channels=1\nsynth.length=%gs\nrecord.tone=%gHz\n"
                "deck.speed=%.9frpm\nfault.speed_error=%.9f%%\n",
                seed, SECONDS, TONE_HZ, deck->nominal_rpm, 100 * (deck->platter_hz / (deck->nominal_rpm / 60) - 1));
    draw_faults(deck);
}

// --- measuring --------------------------------------------------------------------

static DwSynth *open_synth(const Deck *deck)
{
    DwInputs *inputs = dw_inputs_new();
    DwMessage message = {""};
    char *words = strdup(deck->operands.chars), *rest = words;
    DwSynth *synth = NULL;
    for (char *word; (word = strsep(&rest, "\n"));)
        if (*word && dw_inputs_set_operand(inputs, word, &message) != DW_OK)
            fprintf(stderr, "%s\n", message.text);
    if (dw_synth_new(inputs, &synth, &message) != DW_OK) {
        fprintf(stderr, "%s\n", message.text);
        abort();
    }
    free(words);
    dw_inputs_free(inputs);
    return synth;
}

static DwSheet *measure(const Deck *deck)
{
    DwSynth *synth = open_synth(deck);
    DwSpeedSettings settings = dw_speed_settings(dw_synth_rate(synth), 1);
    settings.tone_hz = TONE_HZ;
    settings.speed_rpm = deck->nominal_rpm;
    settings.drive_given = true;
    settings.drive = deck->described;
    DwSpeed *speed = dw_speed_new(settings);
    float samples[4096];
    for (size_t got; (got = dw_synth_read(synth, samples, 4096)) > 0;)
        dw_speed_push(speed, samples, got);
    dw_speed_finish(speed);
    DwSheet *sheet = dw_sheet_new("speed", "");
    DwMessage message = {""};
    if (dw_speed_read(speed, sheet, &message) != DW_OK) {
        fprintf(stderr, "%s\n", message.text);
        abort();
    }
    dw_speed_free(speed);
    dw_synth_free(synth);
    return sheet;
}

// --- judging ----------------------------------------------------------------------

// Whether WORDS ("belt", "platter or record or belt") name PART.
static bool names(const char *words, DwPart part)
{
    const char *name = dw_part_word(part), *at = strstr(words, name);
    return at != NULL;
}

static bool is_guilty(const Deck *deck, const char *words)
{
    for (size_t i = 0; i < deck->fault_count; i++)
        if (names(words, faults[deck->faults[i]].guilty))
            return true;
    return false;
}

typedef struct {
    bool first;     // a guilty part leads the suspects, alone
    bool all;       // every guilty part is suspected
    bool unsure;    // the leading suspects are a guilty part and others: cannot tell
    bool coincides; // and it is so: two parts turn alike within 1/T
    bool accused;   // an innocent part is suspected
} Verdict;

// Whether a guilty part turns so nearly like another part that 60 s cannot tell.
static bool coincides(const Deck *deck)
{
    for (size_t f = 0; f < deck->fault_count; f++) {
        DwPart guilty = faults[deck->faults[f]].guilty;
        for (size_t i = 0; i < DW_PART_COUNT; i++)
            if (!is_same((DwPart)i, guilty) && fabs(deck->rate_hz[guilty] - deck->rate_hz[i]) < 1 / SECONDS)
                return true;
    }
    return false;
}

static Verdict judge(const Deck *deck, const DwSheet *sheet)
{
    const DwTable *table = dw_sheet_table(sheet, "flutter.suspects");
    Verdict verdict = {.all = true, .coincides = coincides(deck)};
    bool seen[2] = {false, false};
    for (size_t row = 0; row < table->row_count; row++) {
        const char *words = dw_table_cell(table, row, 0)->word, *said = dw_table_cell(table, row, 1)->word;
        bool suspected = strcmp(said, "suspected") == 0, unsure = strcmp(said, "cannot tell") == 0;
        bool unexplained = strcmp(said, "no described part") == 0 || strcmp(said, "largest share") == 0;
        if (suspected && !is_guilty(deck, words))
            verdict.accused = true;
        if (row == 0 && (suspected || unexplained))
            verdict.first = is_guilty(deck, words);
        if (row == 0 && unsure)
            verdict.unsure = is_guilty(deck, words);
        for (size_t f = 0; f < deck->fault_count; f++)
            seen[f] = seen[f] || ((suspected || unexplained) && names(words, faults[deck->faults[f]].guilty));
    }
    for (size_t f = 0; f < deck->fault_count; f++)
        verdict.all = verdict.all && seen[f];
    return verdict;
}

static void explain(const Deck *deck, unsigned seed, const DwSheet *sheet)
{
    printf("  seed %u:", seed);
    for (size_t f = 0; f < deck->fault_count; f++)
        printf(" %s (%.4f Hz)", faults[deck->faults[f]].name, deck->rate_hz[faults[deck->faults[f]].guilty]);
    printf("; platter %.4f belt %.4f motor %.4f idler %.4f pole %.4f mains %.4f\n", deck->platter_hz,
           deck->rate_hz[DW_PART_BELT], deck->rate_hz[DW_PART_MOTOR], deck->rate_hz[DW_PART_IDLER],
           deck->rate_hz[DW_PART_POLE], deck->mains_hz);
    const DwTable *table = dw_sheet_table(sheet, "flutter.suspects");
    for (size_t row = 0; row < table->row_count; row++)
        printf("      %s: %s, %.4f Hz, %.4f %%, confidence %.2f\n", dw_table_cell(table, row, 0)->word,
               dw_table_cell(table, row, 1)->word, dw_table_cell(table, row, 3)->number,
               dw_table_cell(table, row, 4)->number, dw_table_cell(table, row, 5)->number);
}

// Decks where some rates coincide are counted apart: there "cannot tell" is right.
typedef struct {
    size_t decks, first, all, unsure, accused;
    size_t alike, alike_unsure, alike_first;
} Count;

static void count_in(Count *count, const Verdict *verdict)
{
    count->accused += verdict->accused;
    if (verdict->coincides) {
        count->alike++;
        count->alike_unsure += verdict->unsure;
        count->alike_first += verdict->first;
        return;
    }
    count->decks++;
    count->first += verdict->first;
    count->all += verdict->all;
    count->unsure += verdict->unsure;
}

static void print_count(const char *name, const Count *count)
{
    printf("%-20s %6zu %13zu %10zu %12zu %9zu | %6zu %12zu %13zu\n", name, count->decks, count->first, count->all,
           count->unsure, count->accused, count->alike, count->alike_unsure, count->alike_first);
}

int main(int argument_count, char **arguments)
{
    unsigned decks = argument_count > 1 ? (unsigned)atoi(arguments[1]) : 400;
    unsigned seed = argument_count > 2 ? (unsigned)atoi(arguments[2]) : 1;
    Count by_fault[FAULT_COUNT] = {{0}}, none = {0}, two = {0}, all = {0};
    for (unsigned i = 0; i < decks; i++) {
        Deck deck;
        draw_deck(&deck, seed + i);
        DwSheet *sheet = measure(&deck);
        Verdict verdict = judge(&deck, sheet);
        Count *count = deck.fault_count == 0 ? &none : deck.fault_count == 1 ? &by_fault[deck.faults[0]] : &two;
        count_in(count, &verdict);
        count_in(&all, &verdict);
        bool right = verdict.coincides ? verdict.unsure || verdict.first : verdict.first;
        bool bad = verdict.accused || (deck.fault_count > 0 && !right);
        if (bad)
            explain(&deck, seed + i, sheet);
        dw_sheet_free(sheet);
        dw_text_clear(&deck.operands);
    }
    printf("%-20s %6s %13s %10s %12s %9s | %6s %12s %13s\n", "fault", "decks", "guilty first", "all named",
           "cannot tell", "innocent", "alike", "cannot tell", "guilty first");
    for (size_t i = 0; i < FAULT_COUNT; i++)
        print_count(faults[i].name, &by_fault[i]);
    print_count("two at once", &two);
    print_count("none", &none);
    print_count("all", &all);
    size_t guilty = all.decks - none.decks;
    double first = guilty ? 100.0 * (double)all.first / (double)guilty : 100,
           accused = 100.0 * (double)all.accused / decks;
    printf("Guilty part first in %.1f %% of the faulty decks whose rates can be told (asked: 95 %%); an innocent part "
           "accused in %.1f %% of all (asked: at most 1 %%).\n"
           "alike: decks in which the guilty part turns like another within 1/60 Hz.\n",
           first, accused);
    return first >= 95 && accused <= 1 ? EXIT_SUCCESS : EXIT_FAILURE;
}
