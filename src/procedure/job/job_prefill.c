// SPDX-License-Identifier: MIT
#include "base/arm_key.h"
#include "base/memory.h"
#include "base/text.h"
#include "book/shop/arm.h"
#include "book/shop/cartridge.h"
#include "book/shop/deck.h"
#include "book/shop/deck_fitted.h"
#include "book/job/copy_known.h"
#include "book/job/measurement.h"
#include "book/shop/register.h"
#include "book/job/set_up.h"
#include "procedure/job/job_sheet.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

// Where what the book knows goes.
typedef struct {
    DwBook *book;
    const DwProcedure *procedure;
    const DwInputs *typed; // what somebody gives beside it, or NULL
    const char *arm;       // the name of the arm that is asked for, "" for the deck's own
    bool overhang_set;     // the overhang was noted as it stands: the arm's own length does not say where it is
    DwInputs *inputs;
} Prefill;

static bool is_typed(const Prefill *prefill, const char *key)
{
    return prefill->typed && dw_inputs_given(prefill->typed, key);
}

// Overhang and effective length say one thing twice: what is typed, else what was noted of the setting, stands.
static bool is_said_better(const Prefill *prefill, const char *key)
{
    bool length_typed = is_typed(prefill, "arm.effective_length"), overhang_typed = is_typed(prefill, "arm.overhang");
    if (strcmp(key, "arm.effective_length") == 0)
        return overhang_typed || prefill->overhang_set;
    return strcmp(key, "arm.overhang") == 0 && length_typed;
}

// Takes TEXT for KEY where the procedure wants it. What no longer reads as a
// value (a unit since renamed) is left for the technician to give.
static void take(const Prefill *prefill, const char *key, const char *text)
{
    if (text && *text && dw_procedure_takes(prefill->procedure, key) && !is_said_better(prefill, key))
        dw_inputs_set(prefill->inputs, key, text, NULL);
}

// The same for what is kept under KEY of one arm by its name: of another it says nothing here.
static void take_kept(const Prefill *prefill, const char *key, const char *text)
{
    char *plain = dw_arm_key_plain(key);
    if (dw_arm_key_belongs(key, prefill->arm))
        take(prefill, plain, text);
    free(plain);
}

static void take_number(const Prefill *prefill, const char *key, double value, const char *unit)
{
    if (!isfinite(value) || value == 0)
        return;
    char text[64];
    snprintf(text, sizeof text, "%.10g %s", value, unit);
    take(prefill, key, text);
}

// A force as a technician says it, to a milligram.
static void take_force(const Prefill *prefill, const char *key, double force_mn)
{
    const double mn_per_g = 9.80665; // standard gravity, ISO 80000-4
    take_number(prefill, key, round(1000 * force_mn / mn_per_g) / 1000, "g");
}

static void add_word(DwText *text, const char *word)
{
    if (word && *word)
        dw_text_add(text, "%s%s", text->length ? " " : "", word);
}

static void take_from_deck(const Prefill *prefill, const DwDeck *deck)
{
    static const char *const drives[] = {
        [DW_DECK_DRIVE_BELT] = "belt", [DW_DECK_DRIVE_IDLER] = "idler", [DW_DECK_DRIVE_DIRECT] = "direct"};
    static const char *const operations[] = {[DW_OPERATION_MANUAL] = "manual",
                                             [DW_OPERATION_SEMI] = "semi-automatic",
                                             [DW_OPERATION_AUTOMATIC] = "automatic",
                                             [DW_OPERATION_CHANGER] = "changer"};
    DwText name = {0};
    add_word(&name, deck->make);
    add_word(&name, deck->model);
    add_word(&name, deck->variant);
    add_word(&name, deck->serial);
    take(prefill, "deck.name", name.chars);
    dw_text_clear(&name);
    take(prefill, "deck.class", deck->class);
    take_number(prefill, "deck.mains", deck->rated_frequency_hz, "Hz");
    if (deck->drive >= DW_DECK_DRIVE_BELT && deck->drive <= DW_DECK_DRIVE_DIRECT)
        take(prefill, "drive.kind", drives[deck->drive]);
    if (deck->operation >= DW_OPERATION_MANUAL && deck->operation <= DW_OPERATION_CHANGER)
        take(prefill, "deck.operation", operations[deck->operation]);
}

static DwStatus read_deck(const Prefill *prefill, int64_t id, DwMessage *message)
{
    DwDeck deck;
    dw_inputs_name_source(prefill->inputs, "the deck's card", "");
    dw_record_init(&deck.record, &dw_deck_entity);
    DwStatus status = dw_record_load(prefill->book, &deck.record, id, message);
    if (status == DW_OK)
        take_from_deck(prefill, &deck);
    dw_record_clear(&deck.record);
    return status;
}

static void take_fitted(const Prefill *prefill, const DwRecord *record)
{
    if (record->entity == &dw_arm_entity) {
        take_number(prefill, "arm.pivot_to_spindle", ((const DwDeckArm *)record)->pivot_to_spindle_mm, "mm");
        take_number(prefill, "arm.effective_length", ((const DwDeckArm *)record)->effective_length_mm, "mm");
    } else {
        take_force(prefill, "force.low", ((const DwCartridge *)record)->force_low_mn);
        take_force(prefill, "force.high", ((const DwCartridge *)record)->force_high_mn);
    }
}

static DwStatus read_fitted(const Prefill *prefill, const DwEntity *entity, int64_t deck, DwMessage *message)
{
    const char *cartridge = is_typed(prefill, "cartridge.name") ? dw_inputs_word(prefill->typed, "cartridge.name") : "";
    int64_t id = 0;
    DwStatus status = dw_deck_fitted(prefill->book, entity, deck, prefill->arm, cartridge, &id, message);
    if (status != DW_OK || !id)
        return status;
    dw_inputs_name_source(prefill->inputs, entity == &dw_arm_entity ? "the arm's card" : "the cartridge's card", "");
    DwRecord *record = dw_record_new(entity);
    status = dw_record_load(prefill->book, record, id, message);
    if (status == DW_OK)
        take_fitted(prefill, record);
    dw_record_free(record);
    return status;
}

static DwStatus read_values(const Prefill *prefill, int64_t deck, DwMessage *message)
{
    DwRecords records;
    dw_inputs_name_source(prefill->inputs, "what is noted of the deck", "");
    DwStatus status = dw_record_list(prefill->book, &dw_deck_value_entity, "deck_id", deck, &records, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < records.count; i++) {
        const DwDeckValue *value = (const DwDeckValue *)dw_records_at(&records, i);
        take_kept(prefill, value->key, value->value);
    }
    dw_records_clear(&records);
    return DW_OK;
}

// A shop with one chain measures through that.
static DwStatus read_chain(const Prefill *prefill, DwMessage *message)
{
    DwRecords records;
    dw_inputs_name_source(prefill->inputs, "the shop's only chain", "");
    DwStatus status = dw_record_list(prefill->book, &dw_chain_entity, NULL, 0, &records, message);
    if (status != DW_OK)
        return status;
    if (records.count == 1) {
        const DwChain *chain = (const DwChain *)dw_records_at(&records, 0);
        take(prefill, "chain.name", chain->name);
        take_number(prefill, "chain.clock_error", chain->clock_error, "ppm");
    }
    dw_records_clear(&records);
    return DW_OK;
}

// What several takes told of the copy called NAME; what its card says of its tone stands before it.
static DwStatus read_pressing(const Prefill *prefill, const char *name, bool tone_on_card, DwMessage *message)
{
    DwCopyKnown known;
    DwStatus status = dw_copy_known_find(prefill->book, name, &known, message);
    if (status != DW_OK || !*known.day)
        return status;
    dw_inputs_name_source(prefill->inputs, "the comparison of copies", known.day);
    take_number(prefill, "record.balance", known.balance_db.value, "dB");
    take_number(prefill, "record.balance_tolerance", known.balance_db.off, "dB");
    if (!tone_on_card)
        take_number(prefill, "record.tone_offset", known.tone_ppm.value, "ppm");
    return DW_OK;
}

// What the register knows of the copy that was played.
static DwStatus read_copy(const Prefill *prefill, DwMessage *message)
{
    const char *name = is_typed(prefill, "record.name") ? dw_inputs_word(prefill->typed, "record.name") : "";
    DwRecords records;
    dw_inputs_name_source(prefill->inputs, "the record's card", "");
    DwStatus status = dw_record_list(prefill->book, &dw_test_record_entity, NULL, 0, &records, message);
    if (status != DW_OK)
        return status;
    bool tone_on_card = false;
    for (size_t i = 0; i < records.count && *name; i++) {
        const DwTestRecord *copy = (const DwTestRecord *)dw_records_at(&records, i);
        if (strcmp(copy->name, name) != 0)
            continue;
        tone_on_card = isfinite(copy->tone_error) && copy->tone_error != 0;
        take_number(prefill, "record.level_error", copy->level_error_db, "dB");
        take_number(prefill, "record.tone_offset", copy->tone_error, "ppm");
    }
    dw_records_clear(&records);
    return *name ? read_pressing(prefill, name, tone_on_card, message) : DW_OK;
}

// Whether the input KEY says with what a recording was made: the record and the chain, which must be the same
// before and after, but not which seconds were used. Of another procedure's sheet the band says nothing.
static bool is_condition(const char *key, bool same_procedure)
{
    if (strncmp(key, "chain.", 6) == 0 || strcmp(key, "record.name") == 0)
        return true;
    return same_procedure && strncmp(key, "record.", 7) == 0 && strcmp(key, "record.start") != 0 &&
           strcmp(key, "record.end") != 0;
}

// Whether KEY is what one copy of a record has of its own: of another copy it says nothing, and what its card or a
// comparison says of it now stands before what a sheet was made with.
static bool is_of_copy(const char *key)
{
    static const char *const keys[] = {"record.level_error", "record.tone_offset", "record.balance",
                                       "record.balance_tolerance"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        if (strcmp(key, keys[i]) == 0)
            return true;
    return false;
}

static bool is_same_copy(const Prefill *prefill, const DwSheet *sheet)
{
    const DwSheetInput *name = dw_measurement_input(sheet, "record.name");
    const char *had = name && name->given ? name->text : "";
    return !is_typed(prefill, "record.name") || strcmp(dw_inputs_word(prefill->typed, "record.name"), had) == 0;
}

static void take_conditions(const Prefill *prefill, const DwSheet *sheet, bool same_procedure)
{
    bool same_copy = is_same_copy(prefill, sheet);
    for (size_t i = 0; i < sheet->input_count; i++) {
        const DwSheetInput *input = &sheet->inputs[i];
        if (!input->given || !is_condition(input->key, same_procedure))
            continue;
        if (is_of_copy(input->key) && (!same_copy || dw_inputs_given(prefill->inputs, input->key)))
            continue;
        char *text = dw_text_format("%s%s%s", input->text, *input->unit ? " " : "", input->unit);
        take(prefill, input->key, text);
        free(text);
    }
}

// What an earlier sheet of the same procedure found is what the next is held against: the round before.
static void take_round(const Prefill *prefill, const DwSheet *sheet)
{
    static const char *const carried[][3] = {{"found.overhang", "found.overhang_before", "mm"},
                                             {"found.offset", "found.offset_before", "deg"}};
    for (size_t i = 0; i < sizeof carried / sizeof *carried; i++) {
        const DwReading *reading = dw_sheet_reading(sheet, carried[i][0]);
        if (reading && !reading->word && !reading->flags)
            take_number(prefill, carried[i][1], reading->value, carried[i][2]);
    }
    // Where its move should have left the stylus, with how well that is known.
    const DwReading *after = dw_sheet_reading(sheet, "move.overhang");
    if (after && !after->word && !after->flags && after->uncertainty > 0) {
        char *text = dw_text_format("%.10gmm:%.10gmm", after->value, after->uncertainty);
        take(prefill, "found.overhang_expected", text);
        free(text);
    }
}

// The conditions of the newest of RECORDS that is of the same procedure, or of another.
static DwStatus take_newest(const Prefill *prefill, const DwRecords *records, bool same_procedure, DwMessage *message)
{
    for (size_t i = records->count; i-- > 0;) {
        const DwMeasurement *measurement = (const DwMeasurement *)dw_records_at(records, i);
        bool same = strcmp(measurement->procedure, prefill->procedure->name) == 0;
        if (same != same_procedure || (!same && !*measurement->subject))
            continue;
        DwSheet *sheet;
        DwStatus status = dw_measurement_sheet(measurement, &sheet, message);
        if (status != DW_OK)
            return status;
        if (same_procedure && strcasecmp(dw_measurement_arm(sheet), prefill->arm) != 0) {
            dw_sheet_free(sheet);
            continue;
        }
        char day[DW_DATE_SIZE];
        dw_moment_day(measurement->at, day);
        dw_inputs_name_source(prefill->inputs, "the sheet", day);
        take_conditions(prefill, sheet, same_procedure);
        if (same_procedure)
            take_round(prefill, sheet);
        dw_sheet_free(sheet);
        break;
    }
    return DW_OK;
}

static DwStatus read_last_sheet(const Prefill *prefill, int64_t job, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_measurement_standing(prefill->book, job, &records, message);
    if (status != DW_OK)
        return status;
    status = take_newest(prefill, &records, false, message);
    if (status == DW_OK)
        status = take_newest(prefill, &records, true, message);
    dw_records_clear(&records);
    return status;
}

// Whether KEY says how a deck is built and set. What was read off it (a force, a
// rake) is measured anew and does not stand in a form as if it had been.
static bool is_build(const char *key)
{
    return strncmp(key, "arm.", 4) == 0 || strncmp(key, "cable.", 6) == 0 || strncmp(key, "preamp.", 7) == 0;
}

static DwStatus read_set_up(const Prefill *prefill, int64_t job, DwPhase phase, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_set_up_standing(prefill->book, job, phase, &records, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < records.count; i++) {
        const DwSetUp *set = (const DwSetUp *)dw_records_at(&records, i);
        char day[DW_DATE_SIZE];
        dw_moment_day(set->at, day);
        dw_inputs_name_source(prefill->inputs, "the set-up", day);
        const char *unit = set->unit ? set->unit : "";
        char *text = dw_text_format("%s%s%s", set->value, *unit ? " " : "", unit);
        if (is_build(set->key))
            take_kept(prefill, set->key, text);
        free(text);
    }
    dw_records_clear(&records);
    return DW_OK;
}

// Whether the overhang was noted in a phase up to LAST.
static DwStatus find_overhang(DwBook *book, int64_t job, DwPhase last, const char *arm, bool *found, DwMessage *message)
{
    DwStatus status = DW_OK;
    char *key = dw_arm_key_join("arm.overhang", arm);
    for (DwPhase at = DW_PHASE_AS_RECEIVED; status == DW_OK && at <= last; at++) {
        DwRecords records;
        status = dw_set_up_standing(book, job, at, &records, message);
        for (size_t i = 0; status == DW_OK && i < records.count; i++)
            *found = *found || strcasecmp(((const DwSetUp *)dw_records_at(&records, i))->key, key) == 0;
        if (status == DW_OK)
            dw_records_clear(&records);
    }
    free(key);
    return status;
}

DwStatus dw_job_sheet_prefill(DwBook *book, const DwJob *job, DwPhase phase, const DwProcedure *procedure,
                              DwInputs *inputs, DwMessage *message)
{
    return dw_job_sheet_prefill_beside(book, job, phase, procedure, NULL, inputs, message);
}

DwStatus dw_job_sheet_prefill_beside(DwBook *book, const DwJob *job, DwPhase phase, const DwProcedure *procedure,
                                     const DwInputs *typed, DwInputs *inputs, DwMessage *message)
{
    DwStatus status = dw_job_sheet_prefill_own(book, job, phase, procedure, typed, inputs, message);
    return status == DW_OK && job->deck_id ? dw_job_model_prefill(book, job->deck_id, procedure, typed, inputs, message)
                                           : status;
}

DwStatus dw_job_sheet_prefill_own(DwBook *book, const DwJob *job, DwPhase phase, const DwProcedure *procedure,
                                  const DwInputs *typed, DwInputs *inputs, DwMessage *message)
{
    Prefill prefill = {.book = book, .procedure = procedure, .typed = typed, .inputs = inputs};
    prefill.arm = is_typed(&prefill, "arm.name") ? dw_inputs_word(typed, "arm.name") : "";
    DwPhase last = phase == DW_PHASE_NONE ? DW_PHASE_AS_LEFT : phase;
    DwStatus status = find_overhang(book, job->record.id, last, prefill.arm, &prefill.overhang_set, message);
    prefill.overhang_set = prefill.overhang_set && !is_typed(&prefill, "arm.effective_length");
    dw_inputs_begin_source(inputs);
    if (status == DW_OK)
        status = read_chain(&prefill, message);
    if (status == DW_OK)
        status = read_copy(&prefill, message);
    int64_t deck = job->deck_id;
    if (status == DW_OK && deck)
        status = read_deck(&prefill, deck, message);
    if (status == DW_OK && deck)
        status = read_fitted(&prefill, &dw_arm_entity, deck, message);
    if (status == DW_OK && deck)
        status = read_fitted(&prefill, &dw_cartridge_entity, deck, message);
    dw_inputs_begin_source(inputs);
    if (status == DW_OK && deck)
        status = read_values(&prefill, deck, message);
    dw_inputs_begin_source(inputs);
    if (status == DW_OK)
        status = read_last_sheet(&prefill, job->record.id, message);
    for (DwPhase at = DW_PHASE_AS_RECEIVED; status == DW_OK && at <= last; at++) {
        dw_inputs_begin_source(inputs);
        status = read_set_up(&prefill, job->record.id, at, message);
    }
    dw_inputs_name_source(inputs, "", "");
    return status;
}
