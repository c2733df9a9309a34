// SPDX-License-Identifier: MIT
// Invoices: drafted from an estimate or from nothing, issued, paid.
#include "book/money/estimate.h"
#include "book/money/invoice.h"
#include "book/money/payment.h"
#include "book/money/unbilled.h"
#include "book/job/job.h"
#include "book/shop/settings.h"
#include "cli/invoice_call.h"
#include "cli/tell.h"

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

static void print_item(const DwUnbilledItem *item)
{
    if (item->kind == DW_LINE_LABOUR)
        dw_tell(stdout, "  %s, %lld min\n", item->name, (long long)item->minutes);
    else if (item->kind == DW_LINE_CHARGE)
        printf("  %s\n", item->name);
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
        dw_tell(stdout, "Not billed yet; 'deckwright invoice propose %lld' adds what has a price:\n",
                (long long)invoice);
    for (size_t i = 0; i < unbilled.count; i++)
        print_item(&unbilled.items[i]);
    if (unbilled.untold)
        dw_tell(stdout, "The charge for the estimate is not asked for: nobody was told of it at intake.\n");
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
        status = dw_invoice_call_totals(call, invoice.record.id, message);
    if (status == DW_OK && !call->json)
        status = print_unbilled(call, job.record.id, invoice.record.id, message);
    dw_record_clear(&job.record);
    dw_record_clear(&invoice.record);
    return status;
}

static DwStatus add_line(DwBookCall *call, DwMessage *message)
{
    DwInvoice invoice;
    DwBillLine line;
    dw_record_init(&line.record, &dw_invoice_line_entity);
    DwStatus status = dw_invoice_call_find(call, &invoice, message);
    line.bill_id = invoice.record.id;
    if (status == DW_OK)
        status = dw_book_call_add(call, &line.record, message);
    dw_record_clear(&invoice.record);
    dw_record_clear(&line.record);
    return status;
}

static DwStatus print_issued(DwBookCall *call, const DwInvoice *invoice, DwMessage *message)
{
    char *number = dw_invoice_number(invoice);
    dw_tell(stdout, "%s %s is issued, id %lld",
            dw_invoice_is_credit(invoice) ? dw_said("Credit note") : dw_said("Invoice"), number,
            (long long)invoice->record.id);
    if (invoice->due_on)
        dw_tell(stdout, ", to be paid by %s.\n", invoice->due_on);
    else
        puts(".");
    free(number);
    return dw_invoice_call_totals(call, invoice->record.id, message);
}

static DwStatus issue(DwBookCall *call, DwMessage *message)
{
    DwInvoice invoice;
    DwStatus status = dw_invoice_call_find(call, &invoice, message);
    int64_t id = invoice.record.id;
    if (status == DW_OK)
        status = dw_invoice_issue(call->book, id, message);
    if (status == DW_OK)
        status = dw_record_load(call->book, &invoice.record, id, message);
    if (status == DW_OK)
        status = print_issued(call, &invoice, message);
    dw_record_clear(&invoice.record);
    return status;
}

// The totals, each rate of tax, the payments and what is left, all as amounts that are typed, and the end of the
// object.
static DwStatus print_json_rest(DwBookCall *call, int64_t id, DwMessage *message)
{
    DwRecords payments;
    DwBalance balance = {0};
    DwTotals totals = {0};
    int digits = (int)dw_settings_integer(call->book, "money.digits");
    DwStatus status = dw_payment_balance(call->book, id, &balance, message);
    if (status == DW_OK)
        status = dw_invoice_totals(call->book, id, &totals, message);
    if (status == DW_OK)
        status = dw_record_list(call->book, &dw_payment_entity, "invoice_id", id, &payments, message);
    if (status != DW_OK)
        return status;
    printf(",\"payments\":");
    dw_book_call_print_all(call, &payments);
    dw_records_clear(&payments);
    const struct {
        const char *key;
        int64_t amount;
    } amounts[] = {{"net", totals.net},    {"tax", totals.tax}, {"gross", totals.gross}, {"credited", balance.credited},
                   {"paid", balance.paid}, {"due", balance.due}};
    for (size_t i = 0; i < sizeof amounts / sizeof *amounts; i++) {
        char *text = dw_money_text(amounts[i].amount, digits);
        printf(",\"%s\":\"%s\"", amounts[i].key, text);
        free(text);
    }
    puts("}");
    return DW_OK;
}

static DwStatus print_lines(DwBookCall *call, const DwInvoice *invoice, DwMessage *message)
{
    DwRecords lines;
    DwStatus status =
        dw_record_list(call->book, &dw_invoice_line_entity, "invoice_id", invoice->record.id, &lines, message);
    if (status != DW_OK)
        return status;
    if (call->json)
        printf("{\"invoice\":");
    dw_book_call_print(call, &invoice->record);
    if (call->json)
        printf(",\"lines\":");
    dw_book_call_print_all(call, &lines);
    dw_records_clear(&lines);
    return call->json ? print_json_rest(call, invoice->record.id, message) : DW_OK;
}

static DwStatus show(DwBookCall *call, DwMessage *message)
{
    DwInvoice invoice;
    DwStatus status = dw_invoice_call_find(call, &invoice, message);
    if (status == DW_OK)
        status = print_lines(call, &invoice, message);
    if (status == DW_OK && !call->json)
        status = dw_invoice_call_totals(call, invoice.record.id, message);
    if (status == DW_OK && !call->json && invoice.state == DW_INVOICE_DRAFT)
        status = print_unbilled(call, invoice.job_id, invoice.record.id, message);
    dw_record_clear(&invoice.record);
    return status;
}

static void print_row(DwBookCall *call, const DwInvoice *invoice, const DwTotals *totals, const DwBalance *balance)
{
    const DwField *kind = dw_field_find(&dw_invoice_entity, "kind");
    char *number = dw_invoice_number(invoice), *word = dw_field_word(kind, invoice->kind);
    char *gross = dw_tell_number(dw_money_text(totals->gross, (int)dw_settings_integer(call->book, "money.digits")));
    char *due = dw_tell_number(dw_money_text(balance->due, (int)dw_settings_integer(call->book, "money.digits")));
    dw_tell(stdout, "id %-5lld %-10s %-10s %-12s %12s  left to pay %s  %s\n", (long long)invoice->record.id,
            *number ? number : dw_said("draft"), invoice->issued_on ? invoice->issued_on : "", word, gross, due,
            invoice->customer_name ? invoice->customer_name : "");
    free(number);
    free(word);
    free(gross);
    free(due);
}

static DwStatus list_rows(DwBookCall *call, const DwRecords *invoices, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < invoices->count; i++) {
        const DwInvoice *invoice = (const DwInvoice *)dw_records_at(invoices, i);
        DwTotals totals = {0};
        DwBalance balance = {0};
        status = dw_invoice_totals(call->book, invoice->record.id, &totals, message);
        if (status == DW_OK)
            status = dw_payment_balance(call->book, invoice->record.id, &balance, message);
        if (status == DW_OK)
            print_row(call, invoice, &totals, &balance);
    }
    if (status == DW_OK && !invoices->count)
        dw_tell(stdout, "There is no invoice.\n");
    return status;
}

static DwStatus list(DwBookCall *call, DwMessage *message)
{
    DwJob job;
    DwRecords invoices;
    dw_record_init(&job.record, &dw_job_entity);
    DwStatus status = call->word_count ? dw_job_find(call->book, call->words[0], &job, message) : DW_OK;
    if (status == DW_OK)
        status = dw_record_list(call->book, &dw_invoice_entity, call->word_count ? "job_id" : NULL, job.record.id,
                                &invoices, message);
    dw_record_clear(&job.record);
    if (status != DW_OK)
        return status;
    if (call->json)
        dw_book_call_print_all(call, &invoices);
    else
        status = list_rows(call, &invoices, message);
    dw_records_clear(&invoices);
    return status;
}

static DwStatus propose(DwBookCall *call, DwMessage *message)
{
    DwInvoice invoice;
    size_t added = 0;
    DwStatus status = dw_invoice_call_find(call, &invoice, message);
    if (status == DW_OK)
        status = dw_unbilled_propose(call->book, invoice.job_id, invoice.record.id, &added, message);
    if (status == DW_OK) {
        dw_tell(stdout, "%zu line%s added.\n", added, added == 1 ? "" : "s");
        status = dw_invoice_call_totals(call, invoice.record.id, message);
    }
    if (status == DW_OK)
        status = print_unbilled(call, invoice.job_id, invoice.record.id, message);
    dw_record_clear(&invoice.record);
    return status;
}

// What came in together may be billed together.
static DwStatus add_visit(DwBookCall *call, DwMessage *message)
{
    DwInvoice invoice;
    DwStatus status = dw_invoice_call_find(call, &invoice, message);
    if (status == DW_OK)
        status = dw_invoice_add_visit(call->book, invoice.record.id, message);
    if (status == DW_OK)
        status = dw_invoice_call_totals(call, invoice.record.id, message);
    dw_record_clear(&invoice.record);
    return status;
}

static const DwVerb *invoice_verbs(void)
{
    static const DwVerb verbs[] = {
        {"draft", "JOB [estimate=NUMBER] [tier=recommended]",
         "Start an invoice, with the lines of an estimate's option, else with what was fitted and worked.", 1, 1, draft,
         .operands = true, .json = true},
        {"propose", "INVOICE", "Add to a draft what was fitted and worked on the job and is not billed.", 1, 1,
         propose},
        {"visit", "INVOICE",
         "Add to a draft what was fitted and worked on the other jobs that came in together with its own.", 1, 1,
         add_visit},
        {"line", "INVOICE name=… [kind=part] [minutes=…] [price=…] [amount=…]", "Add a line to a draft.", 1, 1,
         add_line, .operands = true, .json = true},
        {"issue", "INVOICE", "Give the draft its number and today's date; the warranty starts.", 1, 1, issue},
        {"pay", "INVOICE [DATE|paid_on=…] [amount=…] [method=card] [reference=…]",
         "Note what was paid; without an amount all that is left.", 1, 2, dw_invoice_call_pay, .operands = true,
         .json = true, .asks = true},
        {"deposit", "JOB AMOUNT [method=cash] [paid_on=…]", "Note what was paid before there is an invoice.", 2, 2,
         dw_invoice_call_deposit, .operands = true, .json = true, .asks = true},
        {"refund", "INVOICE AMOUNT [method=…] [paid_on=…]", "Note what was paid back.", 2, 2, dw_invoice_call_refund,
         .operands = true, .json = true, .asks = true},
        {"credit", "INVOICE [name=… amount=…]",
         "Start a credit note over an issued invoice: all its lines, or one sum.", 1, 1, dw_invoice_call_credit,
         .operands = true, .json = true},
        {"cancel", "INVOICE WHY", "Issue a credit note over the whole of an issued invoice.", 2, 2,
         dw_invoice_call_cancel, .json = true},
        {"xml", "INVOICE [--out FILE.xml]", "Write it as an electronic invoice: UBL 2.1, EN 16931 core.", 1, 1,
         dw_invoice_call_xml, .writes = true},
        {"month", "YEAR-MONTH [invoices|payments] [--out FILE.csv]", "Write a month as a table for the book-keeping.",
         1, 2, dw_invoice_call_month, .writes = true},
        {"list", "[JOB]", "List the invoices, of a job or all.", 0, 1, list, .json = true},
        {"show", "INVOICE", "Show the invoice, its lines, its total and what is left to pay.", 1, 1, show,
         .json = true},
        {NULL},
    };
    return verbs;
}

const DwCommand dw_command_invoice = {
    "invoice", "invoice VERB …",
    "Make, issue, correct and settle invoices. INVOICE is an id, or a number such as 2026-0003.",
    .verbs = invoice_verbs, .own = &dw_invoice_entity};
