// SPDX-License-Identifier: MIT
#include "book/entry/entry.h"

#include "base/arm_key.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/shop/arm.h"
#include "book/store/attachment.h"
#include "book/store/bound.h"
#include "book/shop/cartridge.h"
#include "book/money/consent.h"
#include "book/shop/customer.h"
#include "book/shop/deck.h"
#include "book/job/disposal.h"
#include "book/job/finding.h"
#include "book/job/intake.h"
#include "book/money/invoice.h"
#include "book/money/payment.h"
#include "book/job/measurement.h"
#include "book/model/model.h"
#include "book/job/photo.h"
#include "book/store/private.h"
#include "book/shop/register.h"
#include "book/job/set_up.h"
#include "book/shop/stock.h"
#include "book/job/verdict.h"
#include "book/job/work.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

// How a kind of record is entered. Lists of keys are parted by '|'.
typedef struct {
    const DwEntity *entity;
    const char *plural;
    const char *title; // what it is called by
    bool added, removed;
    const char *given;   // that alone may be given when it is added; NULL for all
    const char *changed; // that alone may be changed; NULL for all, "" for none
    const char *fixed;   // that may not be changed although the rest may
} Rule;

static const Rule rules[] = {
    {&dw_customer_entity, "Customers", "name", .added = true},
    {&dw_deck_entity, "Decks", "make|model|variant|serial", .added = true, .removed = true},
    {&dw_ownership_entity, "Owners", "customer_id", .added = true, .given = "deck_id|customer_id",
     .changed = "since|until"},
    {&dw_deck_value_entity, "Known quantities", "key|value", .added = true, .removed = true, .changed = "value"},
    {&dw_arm_entity, "Arms", "make|model|serial", .added = true, .removed = true},
    {&dw_cartridge_entity, "Cartridges", "make|model|serial", .added = true, .removed = true},
    {&dw_stylus_entity, "Styli", "model|profile|fitted_on", .added = true, .removed = true, .fixed = "cartridge_id"},
    {&dw_bound_entity, "Limits", "key|class|make|model", .added = true, .removed = true},
    {&dw_test_record_entity, "Test records", "name|title", .added = true, .removed = true},
    {&dw_instrument_entity, "Instruments", "name|kind", .added = true, .removed = true},
    {&dw_instrument_check_entity, "Checks", "checked_on|reference", .added = true,
     .given = "instrument_id|checked_on|reference|expected|found|tolerance|unit|note", .changed = "note"},
    {&dw_chain_entity, "Recording chains", "name", .added = true, .removed = true},
    {&dw_stock_entity, "Stock", "number|name", .added = true, .removed = true},
    {&dw_job_entity, "Jobs", "number", .added = true},
    {&dw_stage_entity, "Stages", "state|at", .changed = ""},
    {&dw_contact_entity, "What the owner was told", "at|words", .added = true, .given = "job_id|how|words",
     .changed = ""},
    {&dw_intake_entity, "Intake", "at", .added = true, .fixed = "job_id"},
    {&dw_accessory_entity, "Accessories", "name", .added = true, .removed = true, .fixed = "intake_id"},
    {&dw_mark_entity, "Marks", "zone|kind", .added = true, .removed = true, .fixed = "intake_id"},
    {&dw_measurement_entity, "Measurements", "title|speed", .changed = ""},
    {&dw_kept_reading_entity, "Readings", "label", .changed = ""},
    {&dw_verdict_entity, "Verdicts", "item", .added = true, .changed = "evidence|action"},
    {&dw_acknowledgement_entity, "Acknowledgements", "person|at", .changed = ""},
    {&dw_finding_entity, "Findings", "symptom", .added = true, .removed = true, .fixed = "job_id"},
    {&dw_operation_entity, "Operations", "name", .added = true, .removed = true, .fixed = "job_id"},
    {&dw_lubrication_entity, "Lubrication", "point|lubricant", .added = true, .removed = true, .fixed = "job_id"},
    // What came from stock was taken out of it in that number: another number is another part fitted.
    {&dw_part_entity, "Parts fitted", "name", .added = true, .removed = true, .fixed = "job_id|stock_id|quantity"},
    {&dw_stock_move_entity, "Movements", "at|why", .added = true, .given = "stock_id|job_id|change|why", .changed = ""},
    {&dw_estimate_entity, "Estimates", "version", .added = true, .removed = true, .given = "job_id", .fixed = "job_id"},
    {&dw_estimate_line_entity, "Lines", "name", .added = true, .removed = true, .fixed = "estimate_id"},
    {&dw_consent_entity, "Consents", "answer|person", .added = true, .changed = ""},
    {&dw_invoice_entity, "Invoices", "number", .added = true, .removed = true, .given = "job_id", .fixed = "job_id"},
    {&dw_invoice_line_entity, "Lines", "name", .added = true, .removed = true, .fixed = "invoice_id"},
    // What was paid is not changed: one that was written down by mistake is taken out.
    {&dw_payment_entity, "Payments", "kind|paid_on", .added = true, .removed = true, .changed = ""},
    {&dw_notice_entity, "Notices", "kind|sent_on", .added = true, .removed = true, .fixed = "job_id"},
    {&dw_disposal_entity, "What became of the deck", "how|disposed_on", .added = true, .changed = ""},
    {&dw_attachment_entity, "Photographs and files", "caption|original_name",
     .changed = "kind|phase|position|caption|scale_um_per_pixel|personal"},
    {&dw_photo_scale_entity, "Scales", "reference", .added = true, .changed = ""},
    {&dw_photo_measure_entity, "Measured on it", "name", .added = true, .changed = ""},
    {&dw_set_up_entity, "Settings", "label|value", .added = true,
     .given = "job_id|phase|key|label|value|unit|instrument|method|remark", .changed = ""},
    {&dw_model_entity, "Models", "make|name", .added = true, .removed = true},
    {&dw_model_value_entity, "Known of the model", "key|value", .added = true, .removed = true,
     .given = "model_id|key|value|source", .changed = "value|source"},
    {&dw_model_fault_entity, "Usual faults", "fault", .added = true, .removed = true, .fixed = "model_id|shared_by"},
};

// What is not listed, such as the words of papers and paired screens, has pages and verbs of its own.
static const Rule *rule_of(const DwEntity *entity)
{
    static const Rule none = {.plural = "", .title = "", .changed = ""};
    for (size_t i = 0; i < sizeof rules / sizeof *rules; i++)
        if (rules[i].entity == entity)
            return &rules[i];
    return &none;
}

static bool lists(const char *keys, const char *key)
{
    size_t length = strlen(key);
    for (const char *at = keys; at && *at;) {
        size_t word = strcspn(at, "|");
        if (word == length && strncmp(at, key, length) == 0)
            return true;
        at += word + (at[word] == '|');
    }
    return false;
}

bool dw_entry_is_added(const DwEntity *entity)
{
    return rule_of(entity)->added;
}

bool dw_entry_is_removed(const DwEntity *entity)
{
    return rule_of(entity)->removed;
}

bool dw_entry_is_given(const DwEntity *entity, const DwField *field)
{
    const Rule *rule = rule_of(entity);
    return rule->added && !field->kept && !field->secret && (!rule->given || lists(rule->given, field->key));
}

bool dw_entry_is_changed(const DwEntity *entity, const DwField *field)
{
    const Rule *rule = rule_of(entity);
    if (field->kept || field->secret || (rule->fixed && lists(rule->fixed, field->key)))
        return false;
    return !rule->changed || lists(rule->changed, field->key);
}

static DwStatus add_ownership(DwBook *book, DwOwnership *ownership, DwMessage *message)
{
    DwStatus status = dw_deck_give(book, ownership->deck_id, ownership->customer_id, message);
    if (status != DW_OK)
        return status;
    return dw_query_number(book, "SELECT max(id) FROM ownership WHERE deck_id = ?", ownership->deck_id,
                           &ownership->record.id, message);
}

static DwStatus keep_deck_value(DwBook *book, DwDeckValue *value, DwMessage *message)
{
    char *key = dw_arm_key_of_words(value->key ? value->key : "");
    DwStatus status = dw_deck_set_value(book, value->deck_id, key, value->value ? value->value : "", message);
    free(key);
    return status == DW_OK ? dw_query_number(book, "SELECT max(id) FROM deck_value WHERE deck_id = ?", value->deck_id,
                                             &value->record.id, message)
                           : status;
}

static DwStatus add_contact(DwBook *book, DwContact *contact, DwMessage *message)
{
    if (!contact->words || !*contact->words)
        return dw_fail(message, DW_BAD_INPUT, "Write down what the owner was told.");
    DwStatus status = dw_job_tell(book, contact->job_id, (DwRoute)contact->how, contact->words, message);
    return status == DW_OK ? dw_query_number(book, "SELECT max(id) FROM contact WHERE job_id = ?", contact->job_id,
                                             &contact->record.id, message)
                           : status;
}

static DwStatus add_stock_move(DwBook *book, DwStockMove *move, DwMessage *message)
{
    if (!isfinite(move->change) || move->change == 0)
        return dw_fail(message, DW_BAD_INPUT, "Give the quantity to add, or with a minus sign to take away.");
    DwStatus status =
        dw_stock_move(book, move->stock_id, move->job_id, move->change, move->why ? move->why : "", message);
    return status == DW_OK ? dw_query_number(book, "SELECT max(id) FROM stock_move WHERE stock_id = ?", move->stock_id,
                                             &move->record.id, message)
                           : status;
}

static DwStatus add(DwBook *book, DwRecord *record, DwMessage *message)
{
    const DwEntity *entity = record->entity;
    if (entity == &dw_job_entity)
        return dw_job_open(book, (DwJob *)record, message);
    if (entity == &dw_ownership_entity)
        return add_ownership(book, (DwOwnership *)record, message);
    if (entity == &dw_deck_value_entity)
        return keep_deck_value(book, (DwDeckValue *)record, message);
    if (entity == &dw_contact_entity)
        return add_contact(book, (DwContact *)record, message);
    if (entity == &dw_stock_move_entity)
        return add_stock_move(book, (DwStockMove *)record, message);
    if (entity == &dw_verdict_entity)
        return dw_verdict_give(book, (DwItemVerdict *)record, message);
    if (entity == &dw_part_entity)
        return dw_part_fit(book, (DwFittedPart *)record, message);
    if (entity == &dw_consent_entity)
        return dw_consent_log(book, (DwConsent *)record, message);
    if (entity == &dw_estimate_entity)
        return dw_estimate_draft(book, ((DwEstimate *)record)->job_id, (DwEstimate *)record, message);
    if (entity == &dw_invoice_entity)
        return dw_invoice_draft(book, ((DwInvoice *)record)->job_id, 0, DW_TIER_MINIMUM, (DwInvoice *)record, message);
    if (entity == &dw_disposal_entity)
        return dw_disposal_record(book, (DwDisposal *)record, message);
    if (entity == &dw_payment_entity)
        return dw_payment_take(book, (DwPayment *)record, message);
    if (entity == &dw_estimate_line_entity || entity == &dw_invoice_line_entity)
        return dw_bill_add(book, (DwBillLine *)record, message);
    if (entity == &dw_instrument_check_entity)
        return dw_instrument_check(book, (DwInstrumentCheck *)record, message);
    if (entity == &dw_set_up_entity)
        return dw_set_up_note(book, (DwSetUp *)record, message);
    if (entity == &dw_model_value_entity)
        return dw_model_value_keep(book, (DwModelValue *)record, message);
    if (entity == &dw_photo_scale_entity)
        return dw_photo_scale_add(book, (DwPhotoScale *)record, message);
    if (entity == &dw_photo_measure_entity)
        return dw_photo_measure_add(book, (DwPhotoMeasure *)record, message);
    if (entity == &dw_notice_entity)
        return dw_notice_add(book, (DwNotice *)record, message);
    if (entity == &dw_intake_entity && !((DwIntake *)record)->at)
        dw_field_stamp(book, &((DwIntake *)record)->at, NULL);
    return dw_record_save(book, record, message);
}

DwStatus dw_entry_add(DwBook *book, DwRecord *record, DwMessage *message)
{
    DwStatus status = dw_entry_check(book, record, message);
    return status == DW_OK ? add(book, record, message) : status;
}

static DwStatus change(DwBook *book, DwRecord *record, DwMessage *message)
{
    const DwEntity *entity = record->entity;
    if (entity == &dw_deck_value_entity)
        return keep_deck_value(book, (DwDeckValue *)record, message);
    if (entity == &dw_model_value_entity)
        return dw_model_value_keep(book, (DwModelValue *)record, message);
    if (entity == &dw_estimate_line_entity || entity == &dw_invoice_line_entity)
        return dw_bill_change(book, (DwBillLine *)record, message);
    return dw_record_save(book, record, message);
}

DwStatus dw_entry_change(DwBook *book, DwRecord *record, DwJournalSpan *span, DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    int64_t before = 0;
    status = dw_journal_newest(book, &before, message);
    if (status == DW_OK)
        status = dw_entry_check(book, record, message);
    if (status == DW_OK)
        status = change(book, record, message);
    if (status == DW_OK && span)
        status = dw_journal_since(book, before, record->entity->name, record->id, span, message);
    return dw_book_end(book, status, message);
}

static DwStatus remove_lines(DwBook *book, const DwRecord *record, DwMessage *message)
{
    bool estimate = record->entity == &dw_estimate_entity;
    DwRecords lines;
    DwStatus status = dw_record_list(book, estimate ? &dw_estimate_line_entity : &dw_invoice_line_entity,
                                     estimate ? "estimate_id" : "invoice_id", record->id, &lines, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; status == DW_OK && i < lines.count; i++)
        status = dw_record_remove(book, dw_records_at(&lines, i), message);
    dw_records_clear(&lines);
    return status;
}

static DwStatus put_back_into_stock(DwBook *book, const DwFittedPart *part, DwMessage *message)
{
    return part->stock_id
               ? dw_stock_move(book, part->stock_id, part->job_id, part->quantity, "taken out again", message)
               : DW_OK;
}

DwStatus dw_entry_remove(DwBook *book, DwRecord *record, DwMessage *message)
{
    const DwEntity *entity = record->entity;
    if (!dw_entry_is_removed(entity))
        return dw_fail(message, DW_BAD_INPUT, "A %s stays in the book.", dw_said(entity->label));
    if (entity == &dw_payment_entity)
        return dw_payment_remove(book, (DwPayment *)record, message);
    int64_t id = record->id;
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = dw_record_load(book, record, id, message);
    if (status == DW_OK && entity == &dw_part_entity)
        status = put_back_into_stock(book, (const DwFittedPart *)record, message);
    if (status == DW_OK && (entity == &dw_estimate_entity || entity == &dw_invoice_entity))
        status = remove_lines(book, record, message);
    if (status == DW_OK && entity == &dw_notice_entity)
        status = dw_notice_remove(book, (DwNotice *)record, message);
    else if (status == DW_OK)
        status = dw_record_remove(book, record, message);
    return dw_book_end(book, status, message);
}

// What the one is called that FIELD of RECORD refers to, "" for none.
static char *title_of_other(DwBook *book, const DwRecord *record, const DwField *field)
{
    int64_t id = *(const int64_t *)((const char *)record + field->offset);
    DwRecord *other = dw_record_new(dw_entity_find(field->refers));
    bool is_there = id && dw_record_load(book, other, id, NULL) == DW_OK;
    char *title = is_there ? dw_entry_title(book, other) : dw_memory_text("");
    dw_record_free(other);
    return title;
}

// A moment is shown as its day: nobody calls a thing by the second; nor by another's number. A choice and what
// the program called a thing by are in the reader's language.
static char *title_part(DwBook *book, const DwRecord *record, const DwField *field)
{
    if (field->kind == DW_FIELD_REFERENCE)
        return title_of_other(book, record, field);
    char *text = dw_record_text(book, record, field);
    if (field->kind == DW_FIELD_MOMENT && *text) {
        char day[DW_DATE_SIZE];
        dw_moment_day(text, day);
        dw_field_replace(&text, day);
    }
    if (field->kind == DW_FIELD_CHOICE || strcmp(field->key, "label") == 0)
        dw_field_replace(&text, dw_said(text));
    return text;
}

char *dw_entry_title(DwBook *book, const DwRecord *record)
{
    if (record->entity == &dw_job_entity)
        return dw_text_format("%04lld", (long long)((const DwJob *)record)->number);
    if (record->entity == &dw_estimate_entity)
        return dw_say("version %lld", (long long)((const DwEstimate *)record)->version);
    if (record->entity == &dw_invoice_entity)
        return ((const DwInvoice *)record)->number ? dw_invoice_number((const DwInvoice *)record)
                                                   : dw_memory_text(dw_said("draft"));
    DwText title = {0};
    for (const char *at = rule_of(record->entity)->title; *at;) {
        size_t length = strcspn(at, "|");
        char *key = dw_text_format("%.*s", (int)length, at);
        char *text = title_part(book, record, dw_field_find(record->entity, key));
        if (*text)
            dw_text_add(&title, "%s%s", title.length ? " " : "", text);
        free(text);
        free(key);
        at += length + (at[length] == '|');
    }
    return title.chars ? dw_text_take(&title)
                       : dw_text_format("%s %lld", dw_said(record->entity->label), (long long)record->id);
}

bool dw_entry_is_in_title(const DwEntity *entity, const DwField *field)
{
    return lists(rule_of(entity)->title, field->key);
}

const char *dw_entry_plural(const DwEntity *entity)
{
    return *rule_of(entity)->plural ? rule_of(entity)->plural : entity->label;
}

// The job of the record ID of ENTITY.
static DwStatus job_of(DwBook *book, const DwEntity *entity, int64_t id, int64_t *job, DwMessage *message)
{
    DwRecord *record = dw_record_new(entity);
    DwStatus status = dw_record_load(book, record, id, message);
    if (status == DW_OK)
        status = dw_entry_job(book, record, job, message);
    dw_record_free(record);
    return status;
}

DwStatus dw_entry_job(DwBook *book, const DwRecord *record, int64_t *job, DwMessage *message)
{
    const DwEntity *entity = record->entity;
    *job = entity == &dw_job_entity ? record->id : 0;
    const DwField *field = dw_field_find(entity, "job_id");
    if (field)
        *job = *(const int64_t *)((const char *)record + field->offset);
    for (size_t i = 0; *job == 0 && i < entity->field_count; i++) {
        field = &entity->fields[i];
        int64_t id = field->kind == DW_FIELD_REFERENCE ? *(const int64_t *)((const char *)record + field->offset) : 0;
        if (!field->required || !id)
            continue;
        DwStatus status = job_of(book, dw_entity_find(field->refers), id, job, message);
        if (status != DW_OK)
            return status;
    }
    return DW_OK;
}
