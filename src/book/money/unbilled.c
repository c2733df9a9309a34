// SPDX-License-Identifier: MIT
#include "book/money/unbilled.h"

#include "base/memory.h"
#include "book/job/work.h"
#include "book/money/invoice.h"
#include "book/job/intake.h"
#include "book/store/private.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { WORDS_MOST = 24, STEM = 4 };

// The weightier words of a name by their first letters: "cleaned" and "clean" are the same.
typedef struct {
    char stems[WORDS_MOST][STEM + 1];
    size_t count;
} Words;

static bool is_letter(char c)
{
    return isalpha((unsigned char)c) || (unsigned char)c >= 0x80;
}

static void add_word(Words *words, const char *word, size_t length)
{
    static const char *const light[] = {"and", "the", "for", "with", "new", "its"};
    char stem[STEM + 1] = "";
    for (size_t i = 0; i < length && i < STEM; i++)
        stem[i] = (char)tolower((unsigned char)word[i]);
    for (size_t i = 0; i < sizeof light / sizeof *light; i++)
        if (strlen(light[i]) == length && strncmp(stem, light[i], length) == 0)
            return;
    if (length >= 3 && words->count < WORDS_MOST)
        memcpy(words->stems[words->count++], stem, sizeof stem);
}

static Words words_of(const char *name)
{
    Words words = {.count = 0};
    while (*name) {
        size_t length = 0;
        while (is_letter(name[length]))
            length++;
        add_word(&words, name, length);
        name += length;
        name += *name && !is_letter(*name);
    }
    return words;
}

static bool has_stem(const Words *words, const char *stem)
{
    for (size_t i = 0; i < words->count; i++) {
        size_t one = strlen(stem), other = strlen(words->stems[i]);
        if (strncmp(stem, words->stems[i], one < other ? one : other) == 0)
            return true;
    }
    return false;
}

bool dw_unbilled_names_it(const char *line, const char *item)
{
    if (strcmp(line, item) == 0)
        return true;
    Words one = words_of(line), other = words_of(item);
    const Words *fewer = one.count < other.count ? &one : &other, *more = fewer == &one ? &other : &one;
    size_t shared = 0;
    for (size_t i = 0; i < fewer->count; i++)
        shared += has_stem(more, fewer->stems[i]);
    return fewer->count > 0 && 2 * shared > fewer->count;
}

// A line of an invoice, and how much of it no part has used up.
typedef struct {
    DwBillLine line; // a view of the record's own texts
    double left;
} Billed;

typedef struct {
    DwRecords *lists;
    size_t list_count;
    Billed *lines;
    size_t count;
} Bills;

static void clear_bills(Bills *bills)
{
    for (size_t i = 0; i < bills->list_count; i++)
        dw_records_clear(&bills->lists[i]);
    free(bills->lists);
    free(bills->lines);
}

// Of a common invoice of a visit those lines that are of JOB.
static void take_lines(Bills *bills, const DwRecords *lines, const DwInvoice *invoice, int64_t job)
{
    bills->lines = dw_memory_resize(bills->lines, bills->count + lines->count + 1, sizeof *bills->lines);
    for (size_t i = 0; i < lines->count; i++) {
        const DwBillLine *line = (const DwBillLine *)dw_records_at(lines, i);
        if (dw_bill_line_job(line, invoice->job_id) == job)
            bills->lines[bills->count++] = (Billed){*line, isfinite(line->quantity) ? line->quantity : 1};
    }
}

static DwStatus read_bills(DwBook *book, int64_t job, Bills *bills, DwMessage *message)
{
    DwRecords invoices;
    *bills = (Bills){0};
    // What an invoice asked for that was cancelled, or that another stands in the place of, is to be billed again.
    DwStatus status = dw_record_select(
        book, &dw_invoice_entity,
        "WHERE (job_id = ?1 OR id IN (SELECT invoice_id FROM invoice_line WHERE job_id = ?1)) AND kind = 'invoice' AND "
        "id NOT IN (SELECT corrects_id FROM invoice WHERE "
        "corrects_id IS NOT NULL AND kind <> 'credit note' AND (state = 'issued' OR kind = 'invoice')) "
        "ORDER BY id",
        job, &invoices, message);
    if (status != DW_OK)
        return status;
    bills->lists = dw_memory_new(invoices.count + 1, sizeof *bills->lists);
    for (size_t i = 0; status == DW_OK && i < invoices.count; i++) {
        DwRecords *lines = &bills->lists[bills->list_count];
        status = dw_record_list(book, &dw_invoice_line_entity, "invoice_id", dw_records_at(&invoices, i)->id, lines,
                                message);
        if (status != DW_OK)
            break;
        bills->list_count++;
        take_lines(bills, lines, (const DwInvoice *)dw_records_at(&invoices, i), job);
    }
    dw_records_clear(&invoices);
    return status;
}

static void add_item(DwUnbilled *unbilled, DwUnbilledItem item)
{
    unbilled->items = dw_memory_resize(unbilled->items, unbilled->count + 1, sizeof *unbilled->items);
    item.name = dw_memory_text(item.name);
    unbilled->items[unbilled->count++] = item;
}

// A line of labour may stand for several operations.
static bool is_work_billed(const Bills *bills, const char *name)
{
    for (size_t i = 0; i < bills->count; i++) {
        const DwBillLine *line = &bills->lines[i].line;
        if ((line->kind == DW_LINE_LABOUR || line->kind == DW_LINE_CHARGE) && dw_unbilled_names_it(line->name, name))
            return true;
    }
    return false;
}

// How many of QUANTITY pieces called NAME stand on no line.
static double unbilled_pieces(Bills *bills, const char *name, double quantity)
{
    for (size_t i = 0; i < bills->count && quantity > 0; i++) {
        Billed *billed = &bills->lines[i];
        bool goods = billed->line.kind != DW_LINE_LABOUR && billed->line.kind != DW_LINE_CREDIT;
        if (!goods || billed->left <= 0 || !dw_unbilled_names_it(billed->line.name, name))
            continue;
        double used = fmin(billed->left, quantity);
        billed->left -= used;
        quantity -= used;
    }
    return quantity;
}

static DwStatus take_work(DwBook *book, int64_t job, const Bills *bills, DwUnbilled *unbilled, DwMessage *message)
{
    DwRecords operations;
    DwStatus status = dw_record_list(book, &dw_operation_entity, "job_id", job, &operations, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < operations.count; i++) {
        const DwOperation *done = (const DwOperation *)dw_records_at(&operations, i);
        if (!dw_operation_is_done(done))
            continue;
        unbilled->held++;
        int64_t minutes = done->actual_minutes > 0 ? done->actual_minutes : done->quoted_minutes;
        if (!is_work_billed(bills, done->name))
            add_item(unbilled, (DwUnbilledItem){DW_LINE_LABOUR, done->name, minutes, NAN, DW_AMOUNT_NONE});
    }
    dw_records_clear(&operations);
    return DW_OK;
}

static DwStatus take_parts(DwBook *book, int64_t job, Bills *bills, DwUnbilled *unbilled, DwMessage *message)
{
    DwRecords parts;
    DwStatus status = dw_record_list(book, &dw_part_entity, "job_id", job, &parts, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < parts.count; i++) {
        const DwFittedPart *part = (const DwFittedPart *)dw_records_at(&parts, i);
        double open = unbilled_pieces(bills, part->name, isfinite(part->quantity) ? part->quantity : 1);
        unbilled->held++;
        if (open > 0)
            add_item(unbilled, (DwUnbilledItem){DW_LINE_PART, part->name, 0, open, part->price});
    }
    dw_records_clear(&parts);
    return DW_OK;
}

// The charge for the newest estimate when every option of it was refused, if it was told before the deck was opened.
static DwStatus take_charge(DwBook *book, int64_t job, const Bills *bills, DwUnbilled *unbilled, DwMessage *message)
{
    static const char name[] = "Charge for the estimate";
    int64_t declined = 0, told = 0, charge = dw_intake_amount(book, job, "money.estimate_charge");
    if (charge == DW_AMOUNT_NONE || charge <= 0)
        return DW_OK;
    DwStatus status =
        dw_query_number(book,
                        "SELECT count(*) FROM estimate WHERE job_id = ?1 AND state = 'declined' AND version "
                        "= (SELECT max(version) FROM estimate WHERE job_id = ?1)",
                        job, &declined, message);
    if (status == DW_OK)
        status = dw_query_number(book, "SELECT estimate_charge_told FROM intake WHERE job_id = ?", job, &told, message);
    if (status != DW_OK || !declined || is_work_billed(bills, name))
        return status;
    unbilled->untold = !told;
    if (told)
        add_item(unbilled, (DwUnbilledItem){DW_LINE_CHARGE, (char *)name, 0, 1, charge});
    return DW_OK;
}

DwStatus dw_unbilled_read(DwBook *book, int64_t job, DwUnbilled *unbilled, DwMessage *message)
{
    Bills bills;
    DwUnbilled read = {0};
    DwStatus status = read_bills(book, job, &bills, message);
    if (status == DW_OK)
        status = take_work(book, job, &bills, &read, message);
    if (status == DW_OK)
        status = take_parts(book, job, &bills, &read, message);
    if (status == DW_OK)
        status = take_charge(book, job, &bills, &read, message);
    clear_bills(&bills);
    if (status == DW_OK)
        *unbilled = read;
    else
        dw_unbilled_clear(&read);
    return status;
}

void dw_unbilled_clear(DwUnbilled *unbilled)
{
    for (size_t i = 0; i < unbilled->count; i++)
        free(unbilled->items[i].name);
    free(unbilled->items);
    *unbilled = (DwUnbilled){0};
}

static DwStatus add_line(DwBook *book, int64_t invoice, int64_t job, const DwUnbilledItem *item, size_t *added,
                         DwMessage *message)
{
    DwBillLine line;
    DwMessage why;
    dw_record_init(&line.record, &dw_invoice_line_entity);
    line.bill_id = invoice;
    line.job_id = job;
    line.kind = (int)item->kind;
    line.name = dw_memory_text(item->name);
    line.minutes = item->minutes;
    line.quantity = item->quantity;
    line.price = item->price;
    // What has no price stays unbilled, and is said to be.
    bool priced =
        dw_bill_amount(book, item->kind, line.minutes, line.quantity, &line.price, &line.amount, &why) == DW_OK;
    DwStatus status = priced ? dw_bill_add(book, &line, message) : DW_OK;
    *added += priced && status == DW_OK;
    dw_record_clear(&line.record);
    return status;
}

DwStatus dw_unbilled_propose(DwBook *book, int64_t job, int64_t invoice, size_t *added, DwMessage *message)
{
    DwUnbilled unbilled;
    int64_t own = 0;
    *added = 0;
    DwStatus status = dw_query_number(book, "SELECT job_id FROM invoice WHERE id = ?", invoice, &own, message);
    if (status == DW_OK)
        status = dw_unbilled_read(book, job, &unbilled, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; status == DW_OK && i < unbilled.count; i++)
        status = add_line(book, invoice, job == own ? 0 : job, &unbilled.items[i], added, message);
    dw_unbilled_clear(&unbilled);
    return status;
}
