// SPDX-License-Identifier: MIT
// What the library knows of a deck's model, where the deck itself says nothing.
#include "base/arm_key.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/model/known.h"
#include "book/shop/arm.h"
#include "book/shop/deck.h"
#include "procedure/job/job_sheet.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// Quantities that hang together: where the deck gives one, the model's others may be those of another part.
static const char *const groups[][6] = {
    {"arm.pivot_to_spindle", "arm.effective_length", "arm.overhang", NULL},
    {"drive.motor_kind", "drive.motor_poles", "drive.motor_speed", "drive.motor_slip", NULL},
    {"drive.poles", "drive.slots", "drive.tacho_lines", NULL},
    {"drive.belt_length", "drive.belt_listed_length", "drive.belt_thickness", "drive.belt_width", NULL},
    {"platter.mass", "platter.inertia", "platter.diameter", "platter.inner_diameter", NULL},
};

static bool is_of_group(const char *const *group, const char *key)
{
    for (; *group; group++)
        if (strcmp(*group, key) == 0)
            return true;
    return false;
}

static bool is_said(const DwInputs *typed, const DwInputs *known, const char *key)
{
    return dw_inputs_given(known, key) || (typed && dw_inputs_given(typed, key));
}

// Whether the deck says KEY itself, or something that hangs together with it.
static bool deck_says(const DwInputs *typed, const DwInputs *known, const char *key)
{
    if (is_said(typed, known, key))
        return true;
    for (size_t g = 0; g < sizeof groups / sizeof *groups; g++)
        for (size_t i = 0; is_of_group(groups[g], key) && groups[g][i]; i++)
            if (is_said(typed, known, groups[g][i]))
                return true;
    return false;
}

// Whether the deck is driven otherwise than its model: then the model's drive is not its drive.
static bool differs_in_drive(const DwInputs *typed, const DwInputs *known, const DwModelKnowns *knowns)
{
    const DwModelKnown *kind = dw_model_known_best(knowns, "drive.kind");
    const char *said = typed ? dw_inputs_typed(typed, "drive.kind") : NULL;
    said = said ? said : dw_inputs_typed(known, "drive.kind");
    return kind && said && strcmp(said, kind->value) != 0;
}

// The model's own fields say something of its drive and class too.
static void take_fields(const DwModel *model, DwInputs *inputs)
{
    static const char *const drives[] = {
        [DW_DECK_DRIVE_BELT] = "belt", [DW_DECK_DRIVE_IDLER] = "idler", [DW_DECK_DRIVE_DIRECT] = "direct"};
    if (model->drive >= DW_DECK_DRIVE_BELT && model->drive <= DW_DECK_DRIVE_DIRECT)
        dw_inputs_set(inputs, "drive.kind", drives[model->drive], NULL);
    if (model->class && *model->class)
        dw_inputs_set(inputs, "deck.class", model->class, NULL);
}

// All that the library knows of the model ID. The caller clears KNOWNS and frees *FIELDS, on success.
static DwStatus read_library(DwBook *book, int64_t id, DwModelKnowns *knowns, DwInputs **fields, DwMessage *message)
{
    DwModel model;
    dw_record_init(&model.record, &dw_model_entity);
    DwStatus status = dw_record_load(book, &model.record, id, message);
    if (status == DW_OK)
        status = dw_model_known_read(book, id, knowns, message);
    if (status == DW_OK) {
        *fields = dw_inputs_new();
        take_fields(&model, *fields);
    }
    dw_record_clear(&model.record);
    return status;
}

// The best that is known of KEY as it would be typed, or NULL.
static const char *best_text(const DwModelKnowns *knowns, const DwInputs *fields, const char *key)
{
    const char *field = dw_inputs_typed(fields, key);
    const DwModelKnown *known = dw_model_known_best(knowns, key);
    return field ? field : known ? known->value : NULL;
}

static DwStatus read_model(DwBook *book, int64_t deck, const DwProcedure *procedure, const DwInputs *typed,
                           DwInputs *inputs, DwMessage *message)
{
    int64_t id = 0;
    DwModelKnowns knowns;
    DwInputs *fields, *taken;
    DwStatus status = dw_model_of_deck(book, deck, &id, message);
    if (status == DW_OK && id)
        status = read_library(book, id, &knowns, &fields, message);
    if (status != DW_OK || !id)
        return status;
    bool other_drive = differs_in_drive(typed, inputs, &knowns);
    // The model's arm is the deck's own; of one that somebody names it says nothing.
    bool other_arm = typed && dw_inputs_given(typed, "arm.name");
    // Judged by what the deck says alone: what was taken from the model a line before does not count as said.
    taken = dw_inputs_new();
    for (size_t i = 0; dw_model_key(i); i++) {
        const char *key = dw_model_key(i), *text = best_text(&knowns, fields, key);
        bool drives = strncmp(key, "drive.", 6) == 0;
        if (text && dw_procedure_takes(procedure, key) && !deck_says(typed, inputs, key) && !(drives && other_drive) &&
            !(other_arm && dw_arm_key_is_arms(key)))
            dw_inputs_set(taken, key, text, NULL);
    }
    dw_inputs_begin_source(inputs);
    dw_inputs_name_source(inputs, "its model", "");
    for (size_t i = 0; dw_model_key(i); i++)
        if (dw_inputs_given(taken, dw_model_key(i)))
            dw_inputs_set(inputs, dw_model_key(i), dw_inputs_typed(taken, dw_model_key(i)), NULL);
    dw_inputs_free(taken);
    dw_inputs_free(fields);
    dw_model_knowns_clear(&knowns);
    return DW_OK;
}

// Of a deck whose class neither it nor its model says, the class of its era.
static DwStatus read_era(DwBook *book, int64_t id, const DwProcedure *procedure, const DwInputs *typed,
                         DwInputs *inputs, DwMessage *message)
{
    DwDeck deck;
    if (dw_inputs_given(inputs, "deck.class") || (typed && dw_inputs_given(typed, "deck.class")) ||
        !dw_procedure_takes(procedure, "deck.class"))
        return DW_OK;
    dw_record_init(&deck.record, &dw_deck_entity);
    DwStatus status = dw_record_load(book, &deck.record, id, message);
    const char *class = status == DW_OK ? dw_deck_class_of_year(deck.made_year) : "";
    dw_inputs_name_source(inputs, "the year it was made", "");
    if (*class)
        status = dw_inputs_set(inputs, "deck.class", class, message);
    dw_inputs_name_source(inputs, "", "");
    dw_record_clear(&deck.record);
    return status;
}

DwStatus dw_job_model_prefill(DwBook *book, int64_t deck, const DwProcedure *procedure, const DwInputs *typed,
                              DwInputs *inputs, DwMessage *message)
{
    DwStatus status = read_model(book, deck, procedure, typed, inputs, message);
    return status == DW_OK ? read_era(book, deck, procedure, typed, inputs, message) : status;
}

// What the deck itself says of KEY: noted for it, its arm's, its own kind of drive and class.
static bool is_deck_s_own(const DwInputs *noted, const DwDeck *deck, bool has_arm, const char *key)
{
    bool kind = strcmp(key, "drive.kind") == 0, class = strcmp(key, "deck.class") == 0;
    bool length = strcmp(key, "arm.pivot_to_spindle") == 0 || strcmp(key, "arm.effective_length") == 0;
    return dw_inputs_given(noted, key) || (kind && deck->drive != DW_DECK_DRIVE_UNKNOWN) ||
           (class && deck->class && *deck->class) || (length && has_arm);
}

static bool is_same_value(const char *key, const DwSheetInput *input, const char *text)
{
    const DwQuantity *row = dw_quantity_find(key);
    double value = 0;
    if (row->kind == DW_QUANTITY_CHOICE)
        return strcmp(input->text, text) == 0;
    DwInputs *inputs = dw_inputs_new();
    bool same = dw_inputs_set(inputs, key, text, NULL) == DW_OK;
    const char *unit = input->unit && *input->unit ? input->unit : row->unit;
    value = same ? dw_inputs_in(inputs, key, unit) : 0;
    dw_inputs_free(inputs);
    return same && value - input->value < 1e-9 + 1e-6 * input->value && input->value - value < 1e-9 + 1e-6 * value;
}

// Inputs that the library knows alike: in words, and where from, NULL for a field of the model itself.
typedef struct {
    const DwModelKnown *known;
    DwText text;
} Told;

typedef struct {
    Told *items;
    size_t count;
} Tolds;

static bool is_alike(const DwModelKnown *one, const DwModelKnown *other)
{
    if (!one || !other)
        return one == other;
    char *origin = dw_model_known_origin(one, NULL), *also = dw_model_known_origin(other, NULL);
    bool alike = strcmp(origin, also) == 0;
    free(origin);
    free(also);
    return alike;
}

// Adds INPUT to what is known alike.
static void tell(Tolds *tolds, const DwModelKnown *known, const DwSheetInput *input)
{
    size_t i = 0;
    while (i < tolds->count && !is_alike(tolds->items[i].known, known))
        i++;
    if (i == tolds->count) {
        tolds->items = dw_memory_resize(tolds->items, ++tolds->count, sizeof *tolds->items);
        tolds->items[i] = (Told){.known = known};
    }
    DwText *text = &tolds->items[i].text;
    dw_text_add(text, "%s%s=%s%s%s", text->length ? "; " : "", input->key, input->text, *input->unit ? " " : "",
                input->unit);
}

// The remark on TOLD. Where from is part of each pattern, with its numbers: whoever reads it has it in their language.
static void remark_on(DwSheet *sheet, const DwDeck *deck, const Told *told)
{
    const DwModelKnown *known = told->known;
    const char *make = deck->make, *model = deck->model, *list = told->text.chars;
    bool is_shared = known && *known->shared_by;
    const char *by = is_shared ? N_(", shared by ") : "", *who = is_shared ? known->shared_by : "";
    if (!known)
        dw_sheet_remark_once(sheet, "As the library has it for %s %s, not found on this deck: %s.", make, model, list);
    else if (known->decks > 1 && (known->low == known->high || isnan(known->low)))
        dw_sheet_remark_once(sheet,
                             "As the library has it for %s %s, not found on this deck: %s (the same on %zu decks%s%s).",
                             make, model, list, known->decks, by, who);
    else if (known->decks > 1)
        dw_sheet_remark_once(
            sheet,
            "As the library has it for %s %s, not found on this deck: %s (median of %zu decks, %.6g to "
            "%.6g%s%s%s%s).",
            make, model, list, known->decks, known->low, known->high, *known->unit ? " " : "", known->unit, by, who);
    else if (known->decks)
        dw_sheet_remark_once(sheet,
                             "As the library has it for %s %s, not found on this deck: %s (found on one deck%s%s).",
                             make, model, list, by, who);
    else if (*known->source)
        dw_sheet_remark_once(sheet, "As the library has it for %s %s, not found on this deck: %s (%s%s%s).", make,
                             model, list, known->source, by, who);
    else
        dw_sheet_remark_once(sheet, "As the library has it for %s %s, not found on this deck: %s (as noted%s%s).", make,
                             model, list, by, who);
}

static DwStatus write_remark(DwBook *book, const DwDeck *deck, int64_t model, DwSheet *sheet, DwMessage *message)
{
    DwModelKnowns knowns;
    DwInputs *fields, *noted = dw_inputs_new();
    DwRecords arms;
    Tolds tolds = {0};
    DwStatus status = dw_deck_inputs(book, deck->record.id, noted, message);
    if (status == DW_OK)
        status = dw_record_list(book, &dw_arm_entity, "deck_id", deck->record.id, &arms, message);
    if (status == DW_OK) {
        bool has_arm = arms.count > 0;
        dw_records_clear(&arms);
        status = read_library(book, model, &knowns, &fields, message);
        for (size_t i = 0; status == DW_OK && i < sheet->input_count; i++) {
            const DwSheetInput *input = &sheet->inputs[i];
            const char *best = input->given && dw_model_has(input->key) ? best_text(&knowns, fields, input->key) : NULL;
            if (best && !is_deck_s_own(noted, deck, has_arm, input->key) && is_same_value(input->key, input, best))
                tell(&tolds, dw_inputs_given(fields, input->key) ? NULL : dw_model_known_best(&knowns, input->key),
                     input);
        }
        for (size_t i = 0; i < tolds.count; i++) {
            remark_on(sheet, deck, &tolds.items[i]);
            dw_text_clear(&tolds.items[i].text);
        }
        if (status == DW_OK) {
            dw_inputs_free(fields);
            dw_model_knowns_clear(&knowns);
        }
    }
    free(tolds.items);
    dw_inputs_free(noted);
    return status;
}

DwStatus dw_job_model_remark(DwBook *book, int64_t id, DwSheet *sheet, DwMessage *message)
{
    int64_t model = 0;
    DwDeck deck;
    DwStatus status = dw_model_of_deck(book, id, &model, message);
    if (status != DW_OK || !model || !sheet->input_count)
        return status;
    dw_record_init(&deck.record, &dw_deck_entity);
    status = dw_record_load(book, &deck.record, id, message);
    if (status == DW_OK)
        status = write_remark(book, &deck, model, sheet, message);
    dw_record_clear(&deck.record);
    return status;
}
