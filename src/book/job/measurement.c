// SPDX-License-Identifier: MIT
#include "base/memory.h"
#include "base/sheet_json.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/job/measurement.h"
#include "book/shop/register.h"
#include "book/store/private.h"
#include "book/job/verdict.h"
#include "book/store/moment.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const DwField measurement_fields[] = {
    {"job_id", "Job", DW_FIELD_REFERENCE, offsetof(DwMeasurement, job_id), .refers = "job", .required = true},
    {"phase", "When", DW_FIELD_CHOICE, offsetof(DwMeasurement, phase), .choices = DW_PHASE_WORDS},
    {"procedure", "Procedure", DW_FIELD_TEXT, offsetof(DwMeasurement, procedure), .required = true},
    {"title", "Title", DW_FIELD_TEXT, offsetof(DwMeasurement, title)},
    {"subject", "Recording", DW_FIELD_TEXT, offsetof(DwMeasurement, subject)},
    {"test_record", "Test record", DW_FIELD_TEXT, offsetof(DwMeasurement, test_record)},
    {"chain", "Recording chain", DW_FIELD_TEXT, offsetof(DwMeasurement, chain)},
    {"instrument", "Instrument", DW_FIELD_TEXT, offsetof(DwMeasurement, instrument)},
    {"speed", "Speed", DW_FIELD_TEXT, offsetof(DwMeasurement, speed)},
    {"at", "At", DW_FIELD_MOMENT, offsetof(DwMeasurement, at), .required = true},
    {"who", "By", DW_FIELD_TEXT, offsetof(DwMeasurement, who)},
    {"sheet", "Sheet", DW_FIELD_TEXT, offsetof(DwMeasurement, sheet), .required = true},
    {"withdrawn_at", "Withdrawn", DW_FIELD_MOMENT, offsetof(DwMeasurement, withdrawn_at), .kept = true},
    {"withdrawn_why", "Withdrawn because", DW_FIELD_TEXT, offsetof(DwMeasurement, withdrawn_why), .kept = true},
};

static const DwField reading_fields[] = {
    {"measurement_id", "Measurement", DW_FIELD_REFERENCE, offsetof(DwKeptReading, measurement_id),
     .refers = "measurement", .required = true},
    {"key", "Key", DW_FIELD_TEXT, offsetof(DwKeptReading, key), .required = true},
    {"label", "Label", DW_FIELD_TEXT, offsetof(DwKeptReading, label)},
    {"value", "Value", DW_FIELD_REAL, offsetof(DwKeptReading, value)},
    {"word", "Word", DW_FIELD_TEXT, offsetof(DwKeptReading, word)},
    {"unit", "Unit", DW_FIELD_TEXT, offsetof(DwKeptReading, unit)},
    {"digits", "Digits", DW_FIELD_INTEGER, offsetof(DwKeptReading, digits)},
    {"uncertainty", "Uncertainty", DW_FIELD_REAL, offsetof(DwKeptReading, uncertainty)},
    {"flags", "Flags", DW_FIELD_INTEGER, offsetof(DwKeptReading, flags)},
    {"low", "Allowed from", DW_FIELD_REAL, offsetof(DwKeptReading, low)},
    {"high", "Allowed to", DW_FIELD_REAL, offsetof(DwKeptReading, high)},
    {"good_low", "Good from", DW_FIELD_REAL, offsetof(DwKeptReading, good_low)},
    {"good_high", "Good to", DW_FIELD_REAL, offsetof(DwKeptReading, good_high)},
    {"source", "Source of the limit", DW_FIELD_TEXT, offsetof(DwKeptReading, source)},
    {"grade", "Grade", DW_FIELD_CHOICE, offsetof(DwKeptReading, grade), .choices = DW_GRADE_WORDS},
    {"method", "Method", DW_FIELD_TEXT, offsetof(DwKeptReading, method)},
};

const DwEntity dw_measurement_entity = {"measurement",
                                        "measurement",
                                        sizeof(DwMeasurement),
                                        measurement_fields,
                                        sizeof measurement_fields / sizeof *measurement_fields,
                                        .of_customer = DW_JOBS_OF_CUSTOMER};
const DwEntity dw_kept_reading_entity = {
    "reading",
    "reading",
    sizeof(DwKeptReading),
    reading_fields,
    sizeof reading_fields / sizeof *reading_fields,
    .of_customer = "measurement_id IN (SELECT id FROM measurement WHERE " DW_JOBS_OF_CUSTOMER ")",
    .quiet = true};

const DwSheetInput *dw_measurement_input(const DwSheet *sheet, const char *key)
{
    for (size_t i = 0; i < sheet->input_count; i++)
        if (strcmp(sheet->inputs[i].key, key) == 0)
            return &sheet->inputs[i];
    return NULL;
}

const char *dw_measurement_arm(const DwSheet *sheet)
{
    const DwSheetInput *input = dw_measurement_input(sheet, "arm.name");
    return input && input->given ? input->text : "";
}

// Fills PLACE from the sheet's input KEY unless it says something already.
static void fill_from_input(char **place, const DwSheet *sheet, const char *key)
{
    const DwSheetInput *input = dw_measurement_input(sheet, key);
    if (*place && **place)
        return;
    free(*place);
    *place = dw_memory_text(input ? input->text : "");
}

void dw_measurement_describe(const DwBook *book, const DwSheet *sheet, DwMeasurement *measurement)
{
    dw_field_replace(&measurement->procedure, sheet->procedure);
    dw_field_replace(&measurement->title, sheet->title);
    dw_field_replace(&measurement->subject, sheet->subject);
    dw_field_stamp(book, &measurement->at, &measurement->who);
    fill_from_input(&measurement->test_record, sheet, "record.name");
    fill_from_input(&measurement->chain, sheet, "chain.name");
    fill_from_input(&measurement->speed, sheet, "deck.speed");
    free(measurement->sheet);
    measurement->sheet = dw_sheet_json_write(sheet);
}

static DwStatus save_reading(DwBook *book, int64_t measurement, const DwReading *reading, DwMessage *message)
{
    // A view of the sheet's own texts: it is not cleared.
    const DwLimit none = {NAN, NAN, NAN, NAN, NULL}, *limit = reading->limit ? reading->limit : &none;
    DwKeptReading row = {
        .record = {.entity = &dw_kept_reading_entity},
        .measurement_id = measurement,
        .key = reading->key,
        .label = reading->label,
        .value = reading->value,
        .word = reading->word,
        .unit = reading->unit,
        .digits = reading->digits,
        .uncertainty = reading->uncertainty,
        .flags = reading->flags,
        .low = limit->low,
        .high = limit->high,
        .good_low = limit->good_low,
        .good_high = limit->good_high,
        .source = limit->source,
        .grade = (int)reading->verdict,
        .method = reading->method,
    };
    return dw_record_keep(book, &row.record, message);
}

// What was measured as unsafe is unsafe until a measurement or a person says otherwise.
static DwStatus give_verdict(DwBook *book, const DwMeasurement *measurement, const DwReading *reading,
                             DwMessage *message)
{
    if (reading->verdict != DW_VERDICT_UNSAFE)
        return DW_OK;
    DwItemVerdict verdict;
    dw_record_init(&verdict.record, &dw_verdict_entity);
    verdict.job_id = measurement->job_id;
    verdict.item = dw_memory_text(reading->label);
    verdict.aspect = DW_ASPECT_USE;
    verdict.phase = measurement->phase;
    verdict.grade = (int)reading->verdict;
    verdict.evidence = dw_text_format("measured: %.*f %s", reading->digits, reading->value, reading->unit);
    DwStatus status = dw_verdict_give(book, &verdict, message);
    dw_record_clear(&verdict.record);
    return status;
}

static DwStatus count_play(DwBook *book, const char *subject, const char *test_record, int plays, DwMessage *message)
{
    if (!*subject)
        return DW_OK; // nothing was played
    DwQuery query = dw_query_begin(book, "UPDATE test_record SET plays = max(plays + ?, 0), revision = revision + 1 "
                                         "WHERE name = ?");
    dw_query_bind_integer(&query, plays);
    dw_query_bind_text(&query, test_record);
    return dw_query_finish(&query, message);
}

static DwStatus save_readings(DwBook *book, int64_t measurement, const DwSheet *sheet, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; i < sheet->reading_count && status == DW_OK; i++)
        status = save_reading(book, measurement, &sheet->readings[i], message);
    return status;
}

DwStatus dw_measurement_save(DwBook *book, const DwSheet *sheet, DwMeasurement *measurement, DwMessage *message)
{
    if (measurement->phase == DW_PHASE_NONE)
        return dw_fail(message, DW_BAD_INPUT, "Say whether it was measured as received, during or as left.");
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    dw_measurement_describe(book, sheet, measurement);
    status = dw_record_keep(book, &measurement->record, message);
    if (status == DW_OK)
        status = save_readings(book, measurement->record.id, sheet, message);
    for (size_t i = 0; i < sheet->reading_count && status == DW_OK; i++)
        status = give_verdict(book, measurement, &sheet->readings[i], message);
    if (status == DW_OK)
        status = count_play(book, measurement->subject, measurement->test_record, 1, message);
    status = dw_book_end(book, status, message);
    if (status != DW_OK)
        measurement->record.id = 0;
    return status;
}

DwStatus dw_measurement_sheet(const DwMeasurement *measurement, DwSheet **sheet, DwMessage *message)
{
    return dw_sheet_json_read(measurement->sheet, sheet, message);
}

DwStatus dw_measurement_withdraw(DwBook *book, int64_t id, const char *why, DwMessage *message)
{
    if (!why || !*why)
        return dw_fail(message, DW_BAD_INPUT, "Say why the measurement is withdrawn.");
    DwMeasurement measurement;
    dw_record_init(&measurement.record, &dw_measurement_entity);
    DwStatus status = dw_record_load(book, &measurement.record, id, message);
    if (status == DW_OK) {
        dw_field_stamp(book, &measurement.withdrawn_at, NULL);
        dw_field_replace(&measurement.withdrawn_why, why);
        status = dw_record_keep(book, &measurement.record, message);
    }
    dw_record_clear(&measurement.record);
    return status;
}

// Has SHEET say that KEY, called WHAT, was supplied; FIELD of its measurement then holds NAME.
static void supply(DwSheet *sheet, const char *key, const char *what, const char *name, char **field)
{
    if (!name || strcmp(*field ? *field : "", name) == 0)
        return;
    char *was = dw_memory_text(*field && **field ? *field : "not named");
    dw_field_replace(field, name);
    DwSheetInput *input = key ? (DwSheetInput *)dw_measurement_input(sheet, key) : NULL;
    if (input) {
        dw_field_replace(&input->text, name);
        input->given = true;
    } else if (key) {
        DwInputs *inputs = dw_inputs_new();
        dw_inputs_set(inputs, key, name, NULL);
        dw_sheet_add_input(sheet, inputs, dw_quantity_find(key));
        dw_inputs_free(inputs);
    }
    dw_sheet_remark(sheet, "The %s was supplied afterwards: %s (before: %s).", what, name, was);
    free(was);
}

// Saves COPY, a measurement not in the book yet, in the place of the one that was loaded from id OLD as BEFORE.
static DwStatus replace(DwBook *book, int64_t old, const char *before, DwMeasurement *copy, const DwSheet *sheet,
                        const char *why, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = dw_record_keep(book, &copy->record, message);
    if (status == DW_OK)
        status = save_readings(book, copy->record.id, sheet, message);
    if (status == DW_OK && strcmp(before, copy->test_record) != 0) {
        status = count_play(book, copy->subject, before, -1, message);
        if (status == DW_OK)
            status = count_play(book, copy->subject, copy->test_record, 1, message);
    }
    if (status == DW_OK)
        status = dw_measurement_withdraw(book, old, why, message);
    return dw_book_end(book, status, message);
}

// Puts what is SUPPLIED, because of WHY, into COPY and its SHEET; false when it says nothing new.
static bool take_supplied(const DwBook *book, const DwSupplied *supplied, const char *why, DwMeasurement *copy,
                          DwSheet *sheet)
{
    size_t said = sheet->remark_count;
    supply(sheet, "record.name", "test record", supplied->test_record, &copy->test_record);
    supply(sheet, "chain.name", "recording chain", supplied->chain, &copy->chain);
    supply(sheet, NULL, "instrument", supplied->instrument, &copy->instrument);
    if (sheet->remark_count == said)
        return false;
    char *now = NULL, *who = NULL, day[DW_DATE_SIZE];
    dw_field_stamp(book, &now, &who);
    dw_moment_day(now, day);
    dw_sheet_remark(sheet, "It was supplied on %s by %s: %s", day, who, why);
    free(copy->sheet);
    copy->sheet = dw_sheet_json_write(sheet);
    free(now);
    free(who);
    return true;
}

// Whether NAME is in the register of ENTITY, or stands as FIELD of another sheet.
static bool is_named_anywhere(DwBook *book, const DwEntity *entity, const char *field, const char *name)
{
    char *sql = dw_text_format("SELECT 1 FROM %s WHERE name = ?1 UNION SELECT 1 FROM measurement WHERE %s = ?1",
                               entity->name, field);
    DwQuery query = dw_query_begin(book, sql);
    dw_query_bind_text(&query, name);
    bool found = dw_query_step(&query);
    free(sql);
    return dw_query_end(&query, NULL) == DW_OK && found;
}

// Whether what is SUPPLIED can have been used for a sheet such as OLD, and is known by its name.
static DwStatus check_supplied(DwBook *book, const DwMeasurement *old, const DwSupplied *supplied, DwMessage *message)
{
    bool by_hand = strcmp(old->procedure, DW_MEASUREMENT_BY_HAND) == 0;
    const struct {
        const DwEntity *entity;
        const char *field, *name;
        bool fits;
    } all[] = {{&dw_test_record_entity, "test_record", supplied->test_record, !by_hand},
               {&dw_chain_entity, "chain", supplied->chain, !by_hand},
               {&dw_instrument_entity, "instrument", supplied->instrument, by_hand}};
    if (!by_hand && !*old->subject)
        return dw_fail(message, DW_BAD_INPUT,
                       "The sheet was reckoned from numbers: no record was played and no recording made for it.");
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        if (!all[i].name || !*all[i].name)
            continue;
        if (!all[i].fits)
            return dw_fail(message, DW_BAD_INPUT,
                           by_hand ? "A reading by hand takes an instrument, and neither record nor recording chain."
                                   : "A recording takes a record and a chain, and no instrument.");
        if (!is_named_anywhere(book, all[i].entity, all[i].field, all[i].name))
            return dw_fail(message, DW_BAD_INPUT, "There is no %s \"%.*s\" in the register: add it there first.",
                           dw_said(all[i].entity->label), dw_text_whole(all[i].name, 60), all[i].name);
    }
    return DW_OK;
}

DwStatus dw_measurement_supply(DwBook *book, int64_t old, const DwSupplied *supplied, const char *why, int64_t *id,
                               DwMessage *message)
{
    if (!why || !*why)
        return dw_fail(message, DW_BAD_INPUT, "Say how it is known what it was measured with.");
    DwMeasurement copy;
    DwSheet *sheet = NULL;
    dw_record_init(&copy.record, &dw_measurement_entity);
    DwStatus status = dw_record_load(book, &copy.record, old, message);
    if (status == DW_OK && copy.withdrawn_at && *copy.withdrawn_at)
        status = dw_fail(message, DW_BAD_INPUT, "The sheet was withdrawn: supply it on the one that took its place.");
    if (status == DW_OK)
        status = check_supplied(book, &copy, supplied, message);
    if (status == DW_OK)
        status = dw_measurement_sheet(&copy, &sheet, message);
    char *before = status == DW_OK ? dw_memory_text(copy.test_record ? copy.test_record : "") : NULL;
    if (status == DW_OK && !take_supplied(book, supplied, why, &copy, sheet))
        status = dw_fail(message, DW_BAD_INPUT, "That is what the sheet says already: nothing was supplied.");
    if (status == DW_OK) {
        copy.record.id = copy.record.revision = 0;
        char *reason = dw_text_format("Another sheet has its place, with what it was measured with: %s", why);
        status = replace(book, old, before, &copy, sheet, reason, message);
        free(reason);
    }
    if (status == DW_OK)
        *id = copy.record.id;
    free(before);
    dw_sheet_free(sheet);
    dw_record_clear(&copy.record);
    return status;
}

DwStatus dw_measurement_standing(DwBook *book, int64_t job, DwRecords *measurements, DwMessage *message)
{
    return dw_record_select(book, &dw_measurement_entity, "WHERE job_id = ? AND withdrawn_at IS NULL ORDER BY at, id",
                            job, measurements, message);
}

// A reading of a key that is not in the catalogue: a number with what follows as its unit, or words.
static void add_own_reading(DwSheet *sheet, const char *key, const char *label, const char *text, double uncertainty)
{
    DwTextNumber number;
    const char *end = dw_text_number_parse(text, &number);
    if (!end) {
        dw_sheet_add_word(sheet, key, label, text);
        return;
    }
    DwReading *reading = dw_sheet_add_reading(sheet, key, label, number.value, end + strspn(end, " "), number.decimals);
    reading->uncertainty = uncertainty;
}

DwStatus dw_measurement_by_hand(const char *key, const char *label, const char *text, double uncertainty,
                                DwSheet **sheet, DwMessage *message)
{
    const DwQuantity *quantity = dw_quantity_find(key);
    if (!quantity && (!label || !*label))
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" is not in the catalogue: give it a label too.", key);
    if (!*text)
        return dw_fail(message, DW_BAD_INPUT, "The reading %s has no value.", key);
    double value = NAN;
    bool number = quantity && quantity->kind == DW_QUANTITY_NUMBER;
    if (number) {
        DwStatus status = dw_quantity_read(quantity, text, &value, NULL, message);
        if (status != DW_OK)
            return status;
    } else if (dw_text_number_clear(label && *label ? label : key, text, message) != DW_OK)
        return DW_BAD_INPUT;
    DwSheet *made = dw_sheet_new(DW_MEASUREMENT_BY_HAND, N_("Entered by hand"));
    const char *shown = label && *label ? label : quantity->label;
    if (number)
        dw_sheet_add_reading(made, key, shown, value, quantity->unit, quantity->digits)->uncertainty = uncertainty;
    else
        add_own_reading(made, key, shown, text, uncertainty);
    *sheet = made;
    return DW_OK;
}
