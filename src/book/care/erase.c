// SPDX-License-Identifier: MIT
#include "book/care/erase.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/shop/customer.h"
#include "book/money/invoice.h"
#include "book/store/attachment.h"
#include "book/store/journal.h"
#include "book/store/private.h"
#include "book/shop/settings.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// DATE moved by the years that invoices are kept, forward or (SIGN '-') back.
static void move_by_invoice_years(DwBook *book, const char *date, char sign, char result[DW_DATE_SIZE])
{
    char *step = dw_text_format("%c%lld years", sign, (long long)dw_settings_integer(book, "retention.invoice_years"));
    DwQuery query = dw_query_begin(book, "SELECT date(?, ?)");
    dw_query_bind_text(&query, date);
    dw_query_bind_text(&query, step);
    snprintf(result, DW_DATE_SIZE, "%s", dw_query_step(&query) ? dw_query_text(&query, 0) : "");
    dw_query_end(&query, NULL);
    free(step);
}

// The last issue date of an invoice that need not keep its name any longer.
static void last_free_day(DwBook *book, char day[DW_DATE_SIZE])
{
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    move_by_invoice_years(book, today, '-', day);
}

static DwStatus check_no_open_job(DwBook *book, int64_t customer, DwMessage *message)
{
    int64_t number = 0;
    DwStatus status = dw_query_number(book,
                                      "SELECT number FROM job WHERE customer_id = ? AND state NOT IN "
                                      "('handed over', 'declined', 'disposed of') ORDER BY number LIMIT 1",
                                      customer, &number, message);
    if (status == DW_OK && number)
        return dw_fail(message, DW_BAD_INPUT, "Job %04lld of this customer is still open. Hand the deck over first.",
                       (long long)number);
    return status;
}

// Pictures that go with their customer.
#define PERSONAL_PICTURES "(" DW_JOBS_OF_CUSTOMER ") AND (personal = 1 OR kind = 'signature')"

// The rows of ENTITY that belong to the customer and may be blanked.
static char *rows_to_blank(const DwEntity *entity, const char *free_day)
{
    if (entity == &dw_invoice_entity)
        return dw_text_format("(%s) AND (issued_on IS NULL OR issued_on <= '%s')", entity->of_customer, free_day);
    if (entity == &dw_attachment_entity) // the captions of the others are the deck's history
        return dw_memory_text(PERSONAL_PICTURES);
    return dw_memory_text(entity->of_customer);
}

static DwStatus blank_fields(DwBook *book, const DwEntity *entity, const char *where, int64_t customer,
                             DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; i < entity->field_count && status == DW_OK; i++) {
        const char *key = entity->fields[i].key;
        if (!entity->fields[i].personal)
            continue;
        char *sql = dw_text_format("UPDATE %s SET %s = '" DW_JOURNAL_ERASED "', revision = revision + 1 "
                                   "WHERE %s <> '' AND %s <> '" DW_JOURNAL_ERASED "' AND (%s)",
                                   entity->name, key, key, key, where);
        DwQuery query = dw_query_begin(book, sql);
        dw_query_bind_integer(&query, customer);
        status = dw_query_finish(&query, message);
        free(sql);
    }
    return status;
}

static bool has_personal_field(const DwEntity *entity)
{
    for (size_t i = 0; i < entity->field_count; i++)
        if (entity->fields[i].personal)
            return entity->of_customer != NULL;
    return false;
}

static DwStatus blank_everything(DwBook *book, int64_t customer, DwMessage *message)
{
    char free_day[DW_DATE_SIZE];
    last_free_day(book, free_day);
    DwStatus status = DW_OK;
    for (size_t i = 0; dw_entity_at(i) && status == DW_OK; i++) {
        const DwEntity *entity = dw_entity_at(i);
        if (!has_personal_field(entity))
            continue;
        char *where = rows_to_blank(entity, free_day);
        status = blank_fields(book, entity, where, customer, message);
        if (status == DW_OK && !entity->quiet)
            status = dw_journal_forget(book, entity, where, customer, message);
        free(where);
    }
    return status;
}

static DwStatus remove_pictures(DwBook *book, int64_t customer, size_t *removed, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_attachment_doom(book, PERSONAL_PICTURES, customer, message);
    if (status == DW_OK)
        status = dw_record_select(book, &dw_attachment_entity, "WHERE " PERSONAL_PICTURES, customer, &records, message);
    if (status != DW_OK)
        return status;
    *removed = records.count;
    for (size_t i = 0; i < records.count && status == DW_OK; i++)
        status = dw_record_remove(book, dw_records_at(&records, i), message);
    dw_records_clear(&records);
    if (status != DW_OK)
        return status;
    // What a customer called a file may hold a name; what the shop wrote under the picture stays.
    DwQuery query = dw_query_begin(book, "UPDATE attachment SET original_name = '" DW_JOURNAL_ERASED
                                         "', revision = revision + 1 WHERE " DW_JOBS_OF_CUSTOMER);
    dw_query_bind_integer(&query, customer);
    return dw_query_finish(&query, message);
}

// Notes the erasure on CUSTOMER; GONE, which the caller clears, is the record as it stood before.
static DwStatus note_erasure(DwBook *book, int64_t id, DwCustomer *gone, DwMessage *message)
{
    DwCustomer customer;
    dw_record_init(&customer.record, &dw_customer_entity);
    DwStatus status = dw_record_load(book, &gone->record, id, message);
    if (status == DW_OK)
        status = dw_record_load(book, &customer.record, id, message);
    if (status == DW_OK) {
        char today[DW_DATE_SIZE];
        dw_book_today(book, today);
        dw_field_replace(&customer.erased_on, today);
        customer.marketing = customer.publish_photos = customer.keep_photos = false;
        status = dw_record_keep(book, &customer.record, message);
    }
    dw_record_clear(&customer.record);
    return status;
}

static DwStatus find_kept_invoices(DwBook *book, int64_t customer, DwErasure *erasure, DwMessage *message)
{
    DwQuery query = dw_query_begin(book, "SELECT count(*), max(issued_on) FROM invoice WHERE (" DW_JOBS_OF_CUSTOMER
                                         ") AND issued_on IS NOT NULL AND customer_name <> '" DW_JOURNAL_ERASED "'");
    dw_query_bind_integer(&query, customer);
    if (dw_query_step(&query)) {
        erasure->invoices = (size_t)dw_query_integer(&query, 0);
        if (erasure->invoices)
            move_by_invoice_years(book, dw_query_text(&query, 1), '+', erasure->keep_until);
    }
    return dw_query_end(&query, message);
}

// Everything that an erasure does within one change.
static DwStatus erase(DwBook *book, int64_t customer, DwErasure *made, DwMessage *message)
{
    DwCustomer gone;
    dw_record_init(&gone.record, &dw_customer_entity);
    DwStatus status = check_no_open_job(book, customer, message);
    if (status == DW_OK)
        status = note_erasure(book, customer, &gone, message);
    if (status == DW_OK)
        status = remove_pictures(book, customer, &made->attachments, message);
    if (status == DW_OK)
        status = blank_everything(book, customer, message);
    if (status == DW_OK)
        status = dw_erase_traces(book, &gone, made, message);
    if (status == DW_OK)
        status = find_kept_invoices(book, customer, made, message);
    // Rewrites the index, so that what was found under the name is not left in it.
    if (status == DW_OK)
        status = dw_query_run(book, "INSERT INTO search (search) VALUES ('optimize')", message);
    dw_record_clear(&gone.record);
    return status;
}

DwStatus dw_erase_customer(DwBook *book, int64_t customer, DwErasure *erasure, DwMessage *message)
{
    DwErasure made = {0};
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    status = dw_book_end(book, erase(book, customer, &made, message), message);
    if (status == DW_OK)
        status = dw_attachment_remove_doomed(book, message);
    // What the log of changes still holds goes too; another program's reading may put that off, not undo it.
    if (status == DW_OK)
        sqlite3_wal_checkpoint_v2(book->database, NULL, SQLITE_CHECKPOINT_TRUNCATE, NULL, NULL);
    if (status == DW_OK) {
        dw_erased_note(book);
        *erasure = made;
    } else
        dw_erasure_clear(&made);
    return status;
}

void dw_erasure_clear(DwErasure *erasure)
{
    free(erasure->traces);
    *erasure = (DwErasure){0};
}

// Adds what QUESTION (id, name, day) finds, each with WHY.
static DwStatus add_due(DwBook *book, DwDueList *list, const DwEntity *entity, const char *question, const char *why,
                        DwMessage *message)
{
    DwQuery query = dw_query_begin(book, question);
    while (dw_query_step(&query)) {
        list->items = dw_memory_resize(list->items, list->count + 1, sizeof *list->items);
        list->items[list->count++] =
            (DwDue){entity, dw_query_integer(&query, 0), dw_memory_text(dw_query_text(&query, 1)),
                    dw_memory_text(dw_query_text(&query, 2)), dw_memory_text(why)};
    }
    return dw_query_end(&query, message);
}

static DwStatus due_customers(DwBook *book, const char *today, DwDueList *list, DwMessage *message)
{
    char *sql = dw_text_format(
        "SELECT id, name, ended FROM (SELECT customer.id, name, date(max(state_since), '+%lld "
        "years') AS ended, sum(state NOT IN ('handed over', 'declined', 'disposed of')) AS still_open FROM customer "
        "JOIN job ON customer_id = customer.id WHERE erased_on IS NULL AND customer.id IN "
        "(SELECT customer_id FROM job WHERE state_since < date('%s', '-%lld years', '+1 day')) "
        "GROUP BY customer.id) WHERE ended < '%s' AND still_open = 0 ORDER BY ended",
        (long long)dw_settings_integer(book, "retention.customer_years"), today,
        (long long)dw_settings_integer(book, "retention.customer_years"), today);
    DwStatus status = add_due(book, list, &dw_customer_entity, sql,
                              "The last job is older than customers' data is kept. Erase the customer.", message);
    free(sql);
    return status;
}

static DwStatus due_photos(DwBook *book, const char *today, DwDueList *list, DwMessage *message)
{
    char *sql = dw_text_format(
        "SELECT a.id, coalesce(nullif(a.caption, ''), a.original_name), date(max(i.warranty_until), '+%lld months') AS "
        "ended FROM invoice AS i CROSS JOIN job ON job.id = i.job_id CROSS JOIN customer AS c ON c.id = "
        "job.customer_id CROSS JOIN attachment AS a ON a.job_id = job.id WHERE c.keep_photos = 0 AND a.kind IN "
        "('photo', 'packaging') GROUP BY a.id "
        "HAVING ended < '%s' ORDER BY ended",
        (long long)dw_settings_integer(book, "retention.photo_months"), today);
    DwStatus status =
        add_due(book, list, &dw_attachment_entity, sql,
                "The warranty has ended and the owner did not agree to keeping it. Remove the picture.", message);
    free(sql);
    return status;
}

static DwStatus due_invoices(DwBook *book, DwDueList *list, DwMessage *message)
{
    char free_day[DW_DATE_SIZE];
    last_free_day(book, free_day);
    char *sql = dw_text_format("SELECT invoice.id, invoice.number, invoice.issued_on FROM invoice JOIN job ON job.id = "
                               "job_id JOIN customer ON customer.id = customer_id WHERE erased_on IS NOT NULL AND "
                               "customer_name <> '" DW_JOURNAL_ERASED "' AND issued_on <= '%s' ORDER BY invoice.id",
                               free_day);
    DwStatus status =
        add_due(book, list, &dw_invoice_entity, sql,
                "The customer is erased and the invoice's time is over. Erase the customer again.", message);
    free(sql);
    return status;
}

DwStatus dw_due_list_read(DwBook *book, DwDueList *list, DwMessage *message)
{
    char today[DW_DATE_SIZE];
    dw_book_today(book, today);
    DwDueList found = {0};
    DwStatus status = due_customers(book, today, &found, message);
    if (status == DW_OK)
        status = due_photos(book, today, &found, message);
    if (status == DW_OK)
        status = due_invoices(book, &found, message);
    if (status == DW_OK)
        *list = found;
    else
        dw_due_list_clear(&found);
    return status;
}

void dw_due_list_clear(DwDueList *list)
{
    for (size_t i = 0; i < list->count; i++) {
        free(list->items[i].what);
        free(list->items[i].over_since);
        free(list->items[i].why);
    }
    free(list->items);
    *list = (DwDueList){0};
}
