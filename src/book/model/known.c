// SPDX-License-Identifier: MIT
#include "book/model/known.h"

#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/store/private.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// What one deck said of one key.
typedef struct {
    int64_t deck;
    double number; // NAN when it is a word
    char *word;
} Sample;

typedef struct {
    Sample *items;
    size_t count, room;
} Samples;

// The decks of model ?1.
#define ITS_DECKS                                                                                                      \
    "deck JOIN model ON model.id = ?1 AND deck.make = model.make COLLATE NOCASE AND "                                  \
    "deck.model = model.name COLLATE NOCASE "

// Per key and deck, the last is what stands: the deck's own fields and its arm, then what was noted for it, then what
// was measured by hand. Sheets' inputs do not count: they may have come from the model itself.
static const char build_question[] =
    "SELECT said.key, deck.id, said.text FROM " ITS_DECKS "JOIN ("
    "SELECT id AS deck_id, 'drive.kind' AS key, drive AS text, 0 AS rank, 0 AS at FROM deck WHERE drive IN ('belt', "
    "'idler', 'direct') "
    "UNION ALL SELECT id, 'deck.class', class, 0, 0 FROM deck WHERE class <> '' "
    "UNION ALL SELECT deck_id, 'arm.pivot_to_spindle', pivot_to_spindle_mm || ' mm', 1, id FROM arm "
    "WHERE pivot_to_spindle_mm > 0 "
    "UNION ALL SELECT deck_id, 'arm.effective_length', effective_length_mm || ' mm', 1, id FROM arm "
    "WHERE effective_length_mm > 0 "
    "UNION ALL SELECT deck_id, key, value, 2, id FROM deck_value "
    "UNION ALL SELECT job.deck_id, reading.key, CASE WHEN word <> '' THEN word ELSE value || ' ' || unit END, 3, "
    "reading.id FROM reading JOIN measurement ON measurement.id = measurement_id JOIN job ON job.id = job_id "
    "WHERE procedure = 'hand' AND withdrawn_at IS NULL"
    ") AS said ON said.deck_id = deck.id ORDER BY said.key, deck.id, rank, at";

// What judged readings of the decks as they left were; per deck the last one stands. What hangs on the cartridge or the
// record that was on it (force, resonance) is none of the model's.
static const char reading_question[] =
    "SELECT key, unit, deck.id, value, label, digits FROM " ITS_DECKS "JOIN job ON job.deck_id = deck.id "
    "JOIN measurement ON job_id = job.id JOIN reading ON measurement_id = measurement.id "
    "WHERE procedure <> 'hand' AND withdrawn_at IS NULL AND phase = 'as left' AND grade NOT IN ('none', 'not tested') "
    "AND flags = 0 AND word = '' AND value IS NOT NULL AND (key GLOB 'speed.*' OR key GLOB 'flutter.*' OR key GLOB "
    "'revolution.*' OR key GLOB 'startup.*' OR key GLOB 'warmup.*' OR key GLOB 'noise.*' OR key GLOB 'drive.*' OR key "
    "GLOB 'bearing.*') ORDER BY key, unit, deck.id, reading.id";

enum { AS_TYPED = -1 }; // in place of a number of digits

static void samples_clear(Samples *samples)
{
    for (size_t i = 0; i < samples->count; i++)
        free(samples->items[i].word);
    samples->count = 0;
}

// What DECK said before of the same is replaced.
static void samples_add(Samples *samples, int64_t deck, double number, const char *word)
{
    if (samples->count && samples->items[samples->count - 1].deck == deck)
        free(samples->items[--samples->count].word);
    if (samples->count == samples->room) {
        samples->room = 2 * samples->room + 8;
        samples->items = dw_memory_resize(samples->items, samples->room, sizeof *samples->items);
    }
    samples->items[samples->count++] = (Sample){deck, number, word ? dw_memory_text(word) : NULL};
}

static DwModelKnown *add(DwModelKnowns *knowns, DwModelKnown known)
{
    knowns->items = dw_memory_resize(knowns->items, knowns->count + 1, sizeof *knowns->items);
    knowns->items[knowns->count] = known;
    return &knowns->items[knowns->count++];
}

static int by_number(const void *a, const void *b)
{
    double first = ((const Sample *)a)->number, second = ((const Sample *)b)->number;
    return (first > second) - (first < second);
}

// The word that more than half of the decks have; NULL without one. TIMES: how many have it.
static const char *usual_word(const Samples *samples, size_t *times)
{
    for (size_t i = 0; i < samples->count; i++) {
        size_t same = 0;
        for (size_t k = 0; k < samples->count; k++)
            same += strcmp(samples->items[i].word, samples->items[k].word) == 0;
        *times = same;
        if (2 * same > samples->count)
            return samples->items[i].word;
    }
    return NULL;
}

static void add_numbers(DwModelKnowns *knowns, Samples *samples, DwModelAbout about, const char *key, const char *label,
                        const char *unit, int digits)
{
    size_t n = samples->count;
    double shown = pow(10, digits);
    for (size_t i = 0; i < n && digits >= 0; i++) // as it was shown
        samples->items[i].number = round(samples->items[i].number * shown) / shown;
    qsort(samples->items, n, sizeof *samples->items, by_number);
    double median = (samples->items[(n - 1) / 2].number + samples->items[n / 2].number) / 2;
    add(knowns, (DwModelKnown){.origin = DW_MODEL_MEASURED,
                               .about = about,
                               .key = dw_memory_text(key),
                               .label = dw_memory_text(label),
                               .value = dw_text_format("%.6g%s%s", median, *unit ? " " : "", unit),
                               .decks = n,
                               .low = samples->items[0].number,
                               .high = samples->items[n - 1].number,
                               .unit = dw_memory_text(unit),
                               .source = dw_memory_text(""),
                               .shared_by = dw_memory_text("")});
}

static void add_word(DwModelKnowns *knowns, const Samples *samples, const DwQuantity *row)
{
    size_t times = 0;
    const char *word = usual_word(samples, &times);
    if (word)
        add(knowns, (DwModelKnown){.origin = DW_MODEL_MEASURED,
                                   .key = dw_memory_text(row->key),
                                   .label = dw_memory_text(row->label),
                                   .value = dw_memory_text(word),
                                   .decks = times,
                                   .low = NAN,
                                   .high = NAN,
                                   .unit = dw_memory_text(""),
                                   .source = dw_memory_text(""),
                                   .shared_by = dw_memory_text("")});
}

// Adds what the decks said of the quantity KEY, and empties SAMPLES.
static void finish_build(DwModelKnowns *knowns, Samples *samples, const char *key)
{
    const DwQuantity *row = dw_quantity_find(key);
    if (row && samples->count && row->kind == DW_QUANTITY_CHOICE)
        add_word(knowns, samples, row);
    else if (row && samples->count)
        add_numbers(knowns, samples, DW_MODEL_BUILD, key, row->label, row->unit, AS_TYPED);
    samples_clear(samples);
}

// What cannot be read any more (a unit since renamed) says nothing.
static void take_sample(Samples *samples, const char *key, int64_t deck, const char *text)
{
    const DwQuantity *row = dw_model_has(key) ? dw_quantity_find(key) : NULL;
    double number = NAN;
    if (row && row->kind == DW_QUANTITY_CHOICE && dw_quantity_has_choice(row, text))
        samples_add(samples, deck, NAN, text);
    else if (row && row->kind == DW_QUANTITY_NUMBER && dw_quantity_read(row, text, &number, NULL, NULL) == DW_OK)
        samples_add(samples, deck, number, NULL);
}

static DwStatus read_builds(DwBook *book, int64_t model, DwModelKnowns *knowns, DwMessage *message)
{
    Samples samples = {0};
    char *key = dw_memory_text("");
    DwQuery query = dw_query_begin(book, build_question);
    dw_query_bind_integer(&query, model);
    while (dw_query_step(&query)) {
        if (strcmp(key, dw_query_text(&query, 0)) != 0) {
            finish_build(knowns, &samples, key);
            dw_field_replace(&key, dw_query_text(&query, 0));
        }
        take_sample(&samples, key, dw_query_integer(&query, 1), dw_query_text(&query, 2));
    }
    finish_build(knowns, &samples, key);
    free(key);
    free(samples.items);
    return dw_query_end(&query, message);
}

typedef struct {
    char *key, *unit, *label;
    int digits;
} ReadingHead;

static void finish_reading(DwModelKnowns *knowns, Samples *samples, const ReadingHead *head)
{
    if (samples->count)
        add_numbers(knowns, samples, DW_MODEL_READING, head->key, head->label, head->unit, head->digits);
    samples_clear(samples);
}

static DwStatus read_readings(DwBook *book, int64_t model, DwModelKnowns *knowns, DwMessage *message)
{
    Samples samples = {0};
    ReadingHead head = {dw_memory_text(""), dw_memory_text(""), dw_memory_text(""), 0};
    DwQuery query = dw_query_begin(book, reading_question);
    dw_query_bind_integer(&query, model);
    while (dw_query_step(&query)) {
        if (strcmp(head.key, dw_query_text(&query, 0)) != 0 || strcmp(head.unit, dw_query_text(&query, 1)) != 0)
            finish_reading(knowns, &samples, &head);
        dw_field_replace(&head.key, dw_query_text(&query, 0));
        dw_field_replace(&head.unit, dw_query_text(&query, 1));
        dw_field_replace(&head.label, dw_query_text(&query, 4));
        head.digits = (int)fmin(12, fmax(0, (double)dw_query_integer(&query, 5)));
        samples_add(&samples, dw_query_integer(&query, 2), dw_query_real(&query, 3), NULL);
    }
    finish_reading(knowns, &samples, &head);
    free(head.key);
    free(head.unit);
    free(head.label);
    free(samples.items);
    return dw_query_end(&query, message);
}

static const char *text_or_nothing(const char *text)
{
    return text ? text : "";
}

static const char *label_of(const DwModelValue *value)
{
    const DwQuantity *row = value->about == DW_MODEL_BUILD ? dw_quantity_find(value->key) : NULL;
    return row ? row->label : value->label && *value->label ? value->label : value->key;
}

// The kept values: the shop's own, or (SHARED) those of others, those of most decks first.
static DwStatus read_kept(DwBook *book, int64_t model, bool shared, DwModelKnowns *knowns, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_record_select(book, &dw_model_value_entity,
                                       shared ? "WHERE model_id = ? AND shared_by <> '' ORDER BY decks DESC, id"
                                              : "WHERE model_id = ? AND shared_by = '' ORDER BY id",
                                       model, &records, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < records.count; i++) {
        const DwModelValue *value = (const DwModelValue *)dw_records_at(&records, i);
        add(knowns, (DwModelKnown){.origin = shared ? DW_MODEL_SHARED : DW_MODEL_STATED,
                                   .about = (DwModelAbout)value->about,
                                   .key = dw_memory_text(value->key),
                                   .label = dw_memory_text(label_of(value)),
                                   .value = dw_memory_text(value->value),
                                   .decks = (size_t)value->decks,
                                   .low = value->low,
                                   .high = value->high,
                                   .unit = dw_memory_text(text_or_nothing(value->unit)),
                                   .source = dw_memory_text(text_or_nothing(value->source)),
                                   .shared_by = dw_memory_text(text_or_nothing(value->shared_by))});
    }
    dw_records_clear(&records);
    return DW_OK;
}

DwStatus dw_model_known_read(DwBook *book, int64_t model, DwModelKnowns *knowns, DwMessage *message)
{
    DwModelKnowns found = {0};
    DwStatus status = read_kept(book, model, false, &found, message);
    if (status == DW_OK)
        status = read_builds(book, model, &found, message);
    if (status == DW_OK)
        status = read_readings(book, model, &found, message);
    if (status == DW_OK)
        status = read_kept(book, model, true, &found, message);
    if (status == DW_OK)
        *knowns = found;
    else
        dw_model_knowns_clear(&found);
    return status;
}

void dw_model_knowns_clear(DwModelKnowns *knowns)
{
    for (size_t i = 0; i < knowns->count; i++) {
        free(knowns->items[i].key);
        free(knowns->items[i].label);
        free(knowns->items[i].value);
        free(knowns->items[i].unit);
        free(knowns->items[i].source);
        free(knowns->items[i].shared_by);
    }
    free(knowns->items);
    *knowns = (DwModelKnowns){0};
}

const DwModelKnown *dw_model_known_best(const DwModelKnowns *knowns, const char *key)
{
    for (size_t i = 0; i < knowns->count; i++)
        if (knowns->items[i].about == DW_MODEL_BUILD && strcmp(knowns->items[i].key, key) == 0)
            return &knowns->items[i];
    return NULL;
}

static void __attribute__((format(printf, 3, 4)))
add_said(DwText *text, const DwTongue *tongue, const char *pattern, ...)
{
    va_list arguments;
    va_start(arguments, pattern);
    char *said = dw_say_in(tongue, pattern, arguments);
    va_end(arguments);
    dw_text_add(text, "%s", said);
    free(said);
}

char *dw_model_known_origin(const DwModelKnown *known, const DwTongue *tongue)
{
    DwText text = {0};
    const char *unit = known->unit;
    if (known->decks > 1 && (known->low == known->high || isnan(known->low)))
        add_said(&text, tongue, N_("the same on %zu decks"), known->decks);
    else if (known->decks > 1)
        add_said(&text, tongue, N_("median of %zu decks, %.6g to %.6g%s%s"), known->decks, known->low, known->high,
                 *unit ? " " : "", unit);
    else if (known->decks)
        add_said(&text, tongue, N_("found on one deck"));
    else if (*known->source)
        dw_text_add(&text, "%s", known->source);
    else
        add_said(&text, tongue, N_("as noted"));
    if (*known->shared_by)
        add_said(&text, tongue, N_(", shared by %s"), known->shared_by);
    return dw_text_take(&text);
}

DwStatus dw_model_decks(DwBook *book, int64_t model, int64_t *count, DwMessage *message)
{
    return dw_query_number(book, "SELECT count(*) FROM " ITS_DECKS, model, count, message);
}

DwStatus dw_model_others(DwBook *book, int64_t deck, int64_t *count, DwMessage *message)
{
    return dw_query_number(
        book,
        "SELECT count(*) FROM deck AS this JOIN deck ON deck.id <> this.id AND deck.make = this.make "
        "COLLATE NOCASE AND deck.model = this.model COLLATE NOCASE WHERE this.id = ? AND "
        "this.model <> ''",
        deck, count, message);
}
