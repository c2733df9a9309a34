// SPDX-License-Identifier: MIT
// Invoices: drafted from an estimate or from nothing, issued, paid.
#include "book/money/estimate.h"
#include "book/money/invoice.h"
#include "book/money/unbilled.h"
#include "book/job/job.h"
#include "book/shop/settings.h"
#include "cli/book_call.h"

#include <math.h>
#include <stdlib.h>

// Reads estimate=NUMBER tier=WORD; 0 and the recommended option when they are not given.
static DwStatus read_source(const DwBookCall *call, int64_t *estimate, int *tier, DwMessage *message)
{
    static const char *const keys[] = {"estimate", "tier", NULL};
    const char *number = dw_book_call_operand(call, "estimate"), *word = dw_book_call_operand(call, "tier");
    DwStatus status = dw_book_call_only(call, keys, message);
    *estimate = 0;
    *tier = DW_TIER_RECOMMENDED;
    if (status == DW_OK && word && !number)
        return dw_fail(message, DW_BAD_INPUT, "tier is an option of an estimate; say which: estimate=NUMBER.");
    if (status == DW_OK && number)
        status = dw_book_call_number(number, estimate, message);
    if (status == DW_OK && word)
        *tier = dw_field_choice(dw_field_find(&dw_estimate_line_entity, "tier"), word);
    return *tier < 0 ? dw_fail(message, DW_BAD_INPUT, "\"%s\" is none of: " DW_TIER_WORDS ".", word) : status;
}

static DwStatus print_totals(DwBookCall *call, int64_t id, DwMessage *message)
{
    DwTotals totals;
    DwStatus status = dw_invoice_totals(call->book, id, &totals, message);
    if (status != DW_OK)
        return status;
    int digits = (int)dw_settings_integer(call->book, "money.digits");
    char *net = dw_money_text(totals.net, digits), *tax = dw_money_text(totals.tax, digits);
    char *gross = dw_money_text(totals.gross, digits);
    printf("  net %s  tax %s  total %s\n", net, tax, gross);
    free(net);
    free(tax);
    free(gross);
    return DW_OK;
}

static void print_item(const DwUnbilledItem *item)
{
    if (item->kind == DW_LINE_LABOUR)
        printf("  %s, %lld min\n", item->name, (long long)item->minutes);
    else
        printf("  %s, %g\n", item->name, isfinite(item->quantity) ? item->quantity : 1.0);
}

// Says what the job holds that stands on none of its invoices.
static DwStatus print_unbilled(const DwBookCall *call, int64_t job, int64_t invoice, DwMessage *message)
{
    DwUnbilled unbilled;
    DwStatus status = dw_unbilled_read(call->book, job, &unbilled, message);
    if (status != DW_OK)
        return status;
    if (unbilled.count)
        printf("Not billed yet; 'deckwright invoice propose %lld' adds what has a price:\n", (long long)invoice);
    for (size_t i = 0; i < unbilled.count; i++)
        print_item(&unbilled.items[i]);
    dw_unbilled_clear(&unbilled);
    return DW_OK;
}

static DwStatus draft(DwBookCall *call, DwMessage *message)
{
    DwJob job;
    DwInvoice invoice;
    int64_t estimate;
    int tier;
    dw_record_init(&job.record, &dw_job_entity);
    dw_record_init(&invoice.record, &dw_invoice_entity);
    DwStatus status = read_source(call, &estimate, &tier, message);
    if (status == DW_OK)
        status = dw_job_find(call->book, call->words[0], &job, message);
    if (status == DW_OK)
        status = dw_invoice_draft(call->book, job.record.id, estimate, (DwTier)tier, &invoice, message);
    if (status == DW_OK)
        dw_book_call_print(call, &invoice.record);
    if (status == DW_OK && !call->json)
        status = print_totals(call, invoice.record.id, message);
    if (status == DW_OK && !call->json)
        status = print_unbilled(call, job.record.id, invoice.record.id, message);
    dw_record_clear(&job.record);
    dw_record_clear(&invoice.record);
    return status;
}

static DwStatus add_line(DwBookCall *call, DwMessage *message)
{
    DwBillLine line;
    dw_record_init(&line.record, &dw_invoice_line_entity);
    return dw_book_call_add_line(call, &line.record, "invoice_id", message);
}

static DwStatus issue(DwBookCall *call, DwMessage *message)
{
    return dw_book_call_issue(call, dw_invoice_issue, message);
}

static DwStatus pay(DwBookCall *call, DwMessage *message)
{
    int64_t id = 0;
    char today[DW_DATE_SIZE];
    dw_book_today(call->book, today);
    DwStatus status = dw_book_call_number(call->words[0], &id, message);
    return status == DW_OK ? dw_invoice_pay(call->book, id, call->word_count > 1 ? call->words[1] : today, message)
                           : status;
}

static DwStatus load_invoice(const DwBookCall *call, DwInvoice *invoice, DwMessage *message)
{
    int64_t id = 0;
    dw_record_init(&invoice->record, &dw_invoice_entity);
    DwStatus status = dw_book_call_number(call->words[0], &id, message);
    return status == DW_OK ? dw_record_load(call->book, &invoice->record, id, message) : status;
}

static DwStatus show(DwBookCall *call, DwMessage *message)
{
    DwInvoice shown, invoice;
    dw_record_init(&shown.record, &dw_invoice_entity);
    DwStatus status =
        dw_book_call_show_bill(call, &shown.record, &dw_invoice_line_entity, "invoice_id", print_totals, message);
    if (status != DW_OK || call->json)
        return status;
    status = load_invoice(call, &invoice, message);
    if (status == DW_OK && invoice.state == DW_INVOICE_DRAFT)
        status = print_unbilled(call, invoice.job_id, invoice.record.id, message);
    dw_record_clear(&invoice.record);
    return status;
}

static DwStatus propose(DwBookCall *call, DwMessage *message)
{
    DwInvoice invoice;
    size_t added = 0;
    DwStatus status = load_invoice(call, &invoice, message);
    if (status == DW_OK)
        status = dw_unbilled_propose(call->book, invoice.job_id, invoice.record.id, &added, message);
    if (status == DW_OK) {
        printf("%zu line%s added.\n", added, added == 1 ? "" : "s");
        status = print_totals(call, invoice.record.id, message);
    }
    if (status == DW_OK)
        status = print_unbilled(call, invoice.job_id, invoice.record.id, message);
    dw_record_clear(&invoice.record);
    return status;
}

static int run_invoice(int count, char **arguments)
{
    static const DwVerb verbs[] = {
        {"draft", "JOB [estimate=NUMBER] [tier=recommended]",
         "Start an invoice, with the lines of an estimate's option, else with what was fitted and worked.", 1, 1, draft,
         .operands = true, .json = true},
        {"propose", "INVOICE", "Add to a draft what was fitted and worked on the job and is not billed.", 1, 1,
         propose},
        {"line", "INVOICE name=… [kind=part] [minutes=…] [price=…] [amount=…]", "Add a line to a draft.", 1, 1,
         add_line, .operands = true, .json = true},
        {"issue", "INVOICE", "Give the draft its number and today's date; the warranty starts.", 1, 1, issue},
        {"pay", "INVOICE [DATE]", "Note that it was paid.", 1, 2, pay},
        {"show", "INVOICE", "Show the invoice, its lines and its total.", 1, 1, show, .json = true},
        {NULL},
    };
    return dw_book_call_run(&dw_command_invoice, verbs, count, arguments);
}

const DwCommand dw_command_invoice = {"invoice", "invoice VERB …", "Make, issue and settle invoices.", run_invoice};
