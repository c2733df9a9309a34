// SPDX-License-Identifier: MIT
#include "synth/music_plan.h"

#include "base/keyfile.h"
#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "base/tongue.h"
#include "synth/music_notes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef enum {
    ROW_TEMPO,
    ROW_TUNING,
    ROW_REVERBERATION,
    ROW_REVERBERATION_LEVEL,
    ROW_APPLAUSE,
    ROW_APPLAUSE_LEVEL,
    ROW_ATTACK,
    ROW_DECAY,
    ROW_STIFFNESS,
    ROW_NOISE,
    ROW_VIBRATO,
    ROW_TREMOLO,
    ROW_LEVEL,
    ROW_PLACE,
} Row;

static const DwQuantity rows[] = {
    [ROW_TEMPO] = {.key = "tempo", .label = "Beats a minute", .unit = "", .plausible = {40, 200}, .possible = {5, 600}},
    [ROW_TUNING] = {.key = "tuning",
                    .label = "The pitch of A4",
                    .dimension = DW_DIMENSION_FREQUENCY,
                    .unit = "Hz",
                    .plausible = {415, 466},
                    .possible = {200, 900}},
    [ROW_REVERBERATION] = {.key = "reverberation",
                           .label = "The time in which sound falls by 60 dB",
                           .dimension = DW_DIMENSION_TIME,
                           .unit = "s",
                           .plausible = {0.3, 3},
                           .possible = {0, 20}},
    [ROW_REVERBERATION_LEVEL] = {.key = "reverberation_level",
                                 .label = "The reverberation over the direct sound",
                                 .dimension = DW_DIMENSION_LEVEL,
                                 .unit = "dB",
                                 .plausible = {-30, 0},
                                 .possible = {-80, 20}},
    [ROW_APPLAUSE] = {.key = "applause",
                      .label = "The length of the applause",
                      .dimension = DW_DIMENSION_TIME,
                      .unit = "s",
                      .plausible = {3, 30},
                      .possible = {0, 600}},
    [ROW_APPLAUSE_LEVEL] = {.key = "applause_level",
                            .label = "The level of the applause",
                            .dimension = DW_DIMENSION_LEVEL,
                            .unit = "dB",
                            .plausible = {-30, 0},
                            .possible = {-80, 20}},
    [ROW_ATTACK] = {.key = "attack",
                    .label = "The time a note takes to rise",
                    .dimension = DW_DIMENSION_TIME,
                    .unit = "s",
                    .plausible = {0.002, 0.3},
                    .possible = {0, 10}},
    [ROW_DECAY] = {.key = "decay",
                   .label = "The time in which a note falls by 60 dB",
                   .dimension = DW_DIMENSION_TIME,
                   .unit = "s",
                   .plausible = {0.1, 20},
                   .possible = {0.005, 600}},
    [ROW_STIFFNESS] = {.key = "stiffness",
                       .label = "The stiffness of a string",
                       .unit = "",
                       .plausible = {1e-5, 1e-3},
                       .possible = {0, 0.02}},
    [ROW_NOISE] = {.key = "noise",
                   .label = "The edge of a noise",
                   .kind = DW_QUANTITY_PAIR,
                   .dimension = DW_DIMENSION_FREQUENCY,
                   .unit = "Hz",
                   .second_dimension = DW_DIMENSION_FREQUENCY,
                   .second_unit = "Hz",
                   .possible = {10, 14000},
                   .second_possible = {20, 14000}},
    [ROW_VIBRATO] = {.key = "vibrato",
                     .label = "A vibrato",
                     .kind = DW_QUANTITY_PAIR,
                     .dimension = DW_DIMENSION_FREQUENCY,
                     .unit = "Hz",
                     .second_unit = "",
                     .possible = {0.1, 20},
                     .second_possible = {0, 300}},
    [ROW_TREMOLO] = {.key = "tremolo",
                     .label = "A tremolo",
                     .kind = DW_QUANTITY_PAIR,
                     .dimension = DW_DIMENSION_FREQUENCY,
                     .unit = "Hz",
                     .second_dimension = DW_DIMENSION_RATIO,
                     .second_unit = "%",
                     .possible = {0.1, 40},
                     .second_possible = {0, 100}},
    [ROW_LEVEL] = {.key = "level",
                   .label = "The level of a part",
                   .dimension = DW_DIMENSION_LEVEL,
                   .unit = "dB",
                   .plausible = {-30, 0},
                   .possible = {-80, 20}},
    [ROW_PLACE] = {.key = "place",
                   .label = "Where a part stands, -1 left to 1 right,",
                   .unit = "",
                   .plausible = {-1, 1},
                   .possible = {-1, 1}},
};

// A plan while it is read.
typedef struct {
    const char *name; // of the file
    const DwKeyfile *file;
    DwMusicPlan *plan;
    DwMessage *message;
} Reading;

static DwStatus wrong(const Reading *reading, const DwKeyLine *line, const char *text)
{
    return dw_fail(reading->message, DW_BAD_INPUT, "%s, line %u [%s]: %s", reading->name, line->line, line->group,
                   dw_said(text));
}

static DwStatus read_pair(const Reading *reading, const DwKeyLine *line, Row row, double *first, double *second)
{
    DwMessage message;
    if (dw_quantity_read(&rows[row], line->value, first, second, &message) == DW_OK)
        return DW_OK;
    return wrong(reading, line, message.text);
}

static DwStatus read_number(const Reading *reading, const DwKeyLine *line, Row row, double *value)
{
    return read_pair(reading, line, row, value, NULL);
}

static DwStatus read_level(const Reading *reading, const DwKeyLine *line, Row row, double *gain)
{
    double level_db = 0;
    DwStatus status = read_number(reading, line, row, &level_db);
    if (status == DW_OK)
        *gain = pow(10, level_db / 20);
    return status;
}

static DwStatus refuse_key(const Reading *reading, const DwKeyLine *line, const char *known)
{
    char *text = dw_text_format("'%.*s' is no key of it. Use: %s.", dw_text_whole(line->key, 40), line->key, known);
    DwStatus status = wrong(reading, line, text);
    free(text);
    return status;
}

static DwStatus read_music_line(const Reading *reading, const DwKeyLine *line)
{
    DwMusicPlan *plan = reading->plan;
    if (strcmp(line->key, "name") == 0) {
        free(plan->name);
        plan->name = dw_memory_text(line->value);
        return DW_OK;
    }
    if (strcmp(line->key, "tempo") == 0)
        return read_number(reading, line, ROW_TEMPO, &plan->tempo);
    if (strcmp(line->key, "tuning") == 0)
        return read_number(reading, line, ROW_TUNING, &plan->tuning_hz);
    if (strcmp(line->key, "reverberation") == 0)
        return read_number(reading, line, ROW_REVERBERATION, &plan->reverberation_s);
    if (strcmp(line->key, "reverberation_level") == 0)
        return read_level(reading, line, ROW_REVERBERATION_LEVEL, &plan->reverberation_gain);
    if (strcmp(line->key, "applause") == 0)
        return read_number(reading, line, ROW_APPLAUSE, &plan->applause_s);
    if (strcmp(line->key, "applause_level") == 0)
        return read_level(reading, line, ROW_APPLAUSE_LEVEL, &plan->applause_gain);
    return refuse_key(reading, line,
                      "name, tempo, tuning, reverberation, reverberation_level, applause, applause_level");
}

static DwStatus read_partials(const Reading *reading, const DwKeyLine *line, DwMusicInstrument *instrument)
{
    const char *text = line->value;
    while (*text) {
        double value;
        const char *after = dw_text_number_in_list(text, &value);
        if (!after || !(value >= 0 && value <= 100) || instrument->partial_count == DW_MUSIC_PARTIALS_MOST)
            return wrong(reading, line,
                         "partials are up to 16 numbers from 0 to 100 with blanks between, the lowest partial first, "
                         "as in partials=1 0.5 0.25.");
        instrument->partials[instrument->partial_count++] = value;
        text = after + strspn(after, " \t");
    }
    return DW_OK;
}

static DwStatus read_noise(const Reading *reading, const DwKeyLine *line, DwMusicInstrument *instrument)
{
    DwStatus status = read_pair(reading, line, ROW_NOISE, &instrument->noise_low_hz, &instrument->noise_high_hz);
    if (status == DW_OK && !(instrument->noise_high_hz >= 1.2 * instrument->noise_low_hz))
        return wrong(reading, line, "noise is from a lower to a higher frequency, as in noise=200Hz:6kHz.");
    return status;
}

static DwStatus read_tremolo(const Reading *reading, const DwKeyLine *line, DwMusicInstrument *instrument)
{
    DwStatus status = read_pair(reading, line, ROW_TREMOLO, &instrument->tremolo_hz, &instrument->tremolo_depth);
    instrument->tremolo_depth /= 100;
    return status;
}

static DwStatus read_instrument_line(const Reading *reading, const DwKeyLine *line, DwMusicInstrument *instrument)
{
    if (strcmp(line->key, "partials") == 0)
        return read_partials(reading, line, instrument);
    if (strcmp(line->key, "attack") == 0)
        return read_number(reading, line, ROW_ATTACK, &instrument->attack_s);
    if (strcmp(line->key, "decay") == 0)
        return read_number(reading, line, ROW_DECAY, &instrument->decay_s);
    if (strcmp(line->key, "stiffness") == 0)
        return read_number(reading, line, ROW_STIFFNESS, &instrument->stiffness);
    if (strcmp(line->key, "noise") == 0)
        return read_noise(reading, line, instrument);
    if (strcmp(line->key, "vibrato") == 0)
        return read_pair(reading, line, ROW_VIBRATO, &instrument->vibrato_hz, &instrument->vibrato_cents);
    if (strcmp(line->key, "tremolo") == 0)
        return read_tremolo(reading, line, instrument);
    return refuse_key(reading, line, "partials, attack, decay, stiffness, noise, vibrato, tremolo");
}

// The instrument called NAME, or NULL.
static DwMusicInstrument *find_instrument(const DwMusicPlan *plan, const char *name)
{
    for (size_t i = 0; i < plan->instrument_count; i++)
        if (strcmp(plan->instruments[i].name, name) == 0)
            return &plan->instruments[i];
    return NULL;
}

static DwStatus add_instrument(const Reading *reading, const DwKeyLine *line, const char *name)
{
    DwMusicPlan *plan = reading->plan;
    if (plan->instrument_count == DW_MUSIC_INSTRUMENTS_MOST)
        return wrong(reading, line, "a piece has at most 32 instruments.");
    plan->instruments[plan->instrument_count++] = (DwMusicInstrument){
        .name = dw_memory_text(name),
        .attack_s = 0.02,
        .decay_s = INFINITY,
        .noise_low_hz = NAN,
        .noise_high_hz = NAN,
    };
    return DW_OK;
}

// The word after the group's kind, "flute" of "instrument flute"; NULL where LINE is in no such group.
static const char *name_after(const DwKeyLine *line, const char *kind)
{
    size_t length = strlen(kind);
    if (strncmp(line->group, kind, length) != 0 || line->group[length] != ' ')
        return NULL;
    const char *name = line->group + length + strspn(line->group + length, " ");
    return *name ? name : NULL;
}

static DwStatus read_instruments(const Reading *reading)
{
    for (size_t i = 0; i < reading->file->count; i++) {
        const DwKeyLine *line = &reading->file->lines[i];
        const char *name = name_after(line, "instrument");
        DwStatus status = DW_OK;
        if (strcmp(line->group, "music") == 0)
            status = read_music_line(reading, line);
        else if (name && !find_instrument(reading->plan, name))
            status = add_instrument(reading, line, name);
        else if (!name && !name_after(line, "part"))
            status = wrong(reading, line, "a piece has the groups [music], [instrument NAME] and [part NAME].");
        if (status == DW_OK && name)
            status = read_instrument_line(reading, line, find_instrument(reading->plan, name));
        if (status != DW_OK)
            return status;
    }
    for (size_t i = 0; i < reading->plan->instrument_count; i++) {
        const DwMusicInstrument *instrument = &reading->plan->instruments[i];
        if (instrument->partial_count == 0 && isnan(instrument->noise_low_hz))
            return dw_fail(reading->message, DW_BAD_INPUT,
                           "%s: [instrument %s] makes no sound. Give it partials=1 0.5 0.25 or noise=200Hz:6kHz.",
                           reading->name, instrument->name);
    }
    return DW_OK;
}

static DwStatus read_part_line(const Reading *reading, const DwKeyLine *line, DwMusicPart *part)
{
    if (strcmp(line->key, "instrument") == 0) {
        const DwMusicInstrument *found = find_instrument(reading->plan, line->value);
        if (!found)
            return wrong(reading, line, "there is no such instrument. Add its group, [instrument NAME].");
        part->instrument = (size_t)(found - reading->plan->instruments);
        return DW_OK;
    }
    if (strcmp(line->key, "level") == 0)
        return read_level(reading, line, ROW_LEVEL, &part->gain);
    if (strcmp(line->key, "place") == 0)
        return read_number(reading, line, ROW_PLACE, &part->place);
    if (strcmp(line->key, "notes") == 0)
        return DW_OK;
    return refuse_key(reading, line, "instrument, notes, level, place");
}

// All lines of the group that begins at line FIRST, its notes after all else.
static DwStatus read_part(const Reading *reading, size_t first)
{
    DwMusicPart part = {.instrument = DW_MUSIC_INSTRUMENTS_MOST, .gain = 1};
    const char *group = reading->file->lines[first].group;
    DwStatus status = DW_OK;
    for (size_t i = first; i < reading->file->count && status == DW_OK; i++)
        if (strcmp(reading->file->lines[i].group, group) == 0)
            status = read_part_line(reading, &reading->file->lines[i], &part);
    if (status == DW_OK && part.instrument == DW_MUSIC_INSTRUMENTS_MOST)
        return wrong(reading, &reading->file->lines[first], "nobody plays it. Add instrument=NAME.");
    for (size_t i = first; i < reading->file->count && status == DW_OK; i++) {
        const DwKeyLine *line = &reading->file->lines[i];
        DwMessage message;
        if (strcmp(line->group, group) == 0 && strcmp(line->key, "notes") == 0 &&
            dw_music_notes_add(line->value, &part, reading->plan, &message) != DW_OK)
            status = wrong(reading, line, message.text);
    }
    return status;
}

static bool is_first_of_group(const DwKeyfile *file, size_t index)
{
    for (size_t i = 0; i < index; i++)
        if (strcmp(file->lines[i].group, file->lines[index].group) == 0)
            return false;
    return true;
}

static DwStatus read_parts(const Reading *reading)
{
    size_t parts = 0;
    for (size_t i = 0; i < reading->file->count; i++) {
        const DwKeyLine *line = &reading->file->lines[i];
        if (!name_after(line, "part") || !is_first_of_group(reading->file, i))
            continue;
        if (parts++ == DW_MUSIC_PARTS_MOST)
            return wrong(reading, line, "a piece has at most 64 parts.");
        DwStatus status = read_part(reading, i);
        if (status != DW_OK)
            return status;
    }
    return DW_OK;
}

static int by_start(const void *a, const void *b)
{
    double first = ((const DwMusicNote *)a)->start_s, second = ((const DwMusicNote *)b)->start_s;
    return (first > second) - (first < second);
}

static DwStatus finish(const Reading *reading)
{
    DwMusicPlan *plan = reading->plan;
    for (size_t i = 0; i < plan->note_count; i++)
        plan->notes_end_s = fmax(plan->notes_end_s, plan->notes[i].start_s + plan->notes[i].length_s);
    if (plan->note_count == 0)
        return dw_fail(reading->message, DW_BAD_INPUT,
                       "%s: has no notes. Add [part 1] with instrument=NAME and notes=C4:2 E4:2.", reading->name);
    plan->end_s = plan->notes_end_s + plan->applause_s + plan->reverberation_s;
    if (plan->end_s > DW_MUSIC_LONGEST_S)
        return dw_fail(reading->message, DW_BAD_INPUT, "%s: lasts %.0f s; a piece lasts an hour at most.",
                       reading->name, plan->end_s);
    qsort(plan->notes, plan->note_count, sizeof *plan->notes, by_start);
    return DW_OK;
}

static DwStatus read_plan(const DwKeyfile *file, const char *name, DwMusicPlan *plan, DwMessage *message)
{
    *plan = (DwMusicPlan){
        .tempo = 90,
        .tuning_hz = 440,
        .reverberation_gain = pow(10, -12.0 / 20),
        .applause_gain = pow(10, -6.0 / 20),
        .instruments = dw_memory_new(DW_MUSIC_INSTRUMENTS_MOST, sizeof *plan->instruments),
    };
    Reading reading = {name, file, plan, message};
    DwStatus status = read_instruments(&reading);
    if (status == DW_OK)
        status = read_parts(&reading);
    if (status == DW_OK)
        status = finish(&reading);
    if (status != DW_OK)
        dw_music_plan_clear(plan);
    return status;
}

DwStatus dw_music_plan_parse(const char *text, size_t length, const char *name, DwMusicPlan *plan, DwMessage *message)
{
    DwKeyfile file;
    DwStatus status = dw_keyfile_parse(text, length, name, &file, message);
    if (status == DW_OK)
        status = read_plan(&file, name, plan, message);
    dw_keyfile_clear(&file);
    return status;
}

DwStatus dw_music_plan_read(const char *path, DwMusicPlan *plan, DwMessage *message)
{
    DwKeyfile file;
    DwStatus status = dw_keyfile_read(path, &file, message);
    if (status == DW_OK)
        status = read_plan(&file, path, plan, message);
    dw_keyfile_clear(&file);
    return status;
}

void dw_music_plan_clear(DwMusicPlan *plan)
{
    for (size_t i = 0; i < plan->instrument_count; i++)
        free(plan->instruments[i].name);
    free(plan->instruments);
    free(plan->notes);
    free(plan->name);
    *plan = (DwMusicPlan){0};
}
