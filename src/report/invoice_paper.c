// SPDX-License-Identifier: MIT
// Invoice and credit note.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/work.h"
#include "book/money/ubl.h"
#include "book/money/frozen.h"
#include "book/money/payment.h"
#include "book/money/unbilled.h"
#include "report/bill_piece.h"
#include "report/papers.h"
#include "report/sentence/sentence.h"

#include <stdlib.h>
#include <string.h>

static const char *title_of(const DwInvoice *invoice)
{
    switch ((DwInvoiceKind)invoice->kind) {
    case DW_INVOICE_PLAIN:
        return invoice->corrects_id ? "title.corrected" : "title";
    case DW_INVOICE_CREDIT:
        return "title.credit";
    case DW_INVOICE_CANCELLATION:
        return "title.cancellation";
    }
    return "title";
}

// The number and day of the invoice that this one corrects; "" where it corrects none. The caller frees it.
static char *corrected(const DwDossier *d, const DwInvoice *invoice)
{
    DwInvoice original;
    dw_record_init(&original.record, &dw_invoice_entity);
    char *text = NULL;
    if (invoice->corrects_id && dw_record_load(d->book, &original.record, invoice->corrects_id, NULL) == DW_OK) {
        char *number = dw_invoice_number(&original), *day = dw_dossier_day(original.issued_on);
        text = dw_paper_words_fill(d->words, "invoice", "of_day", "number", number, "day", day, NULL);
        free(number);
        free(day);
    }
    dw_record_clear(&original.record);
    return text ? text : dw_memory_text("");
}

static void add_invoice_head(DwDossier *d, const DwInvoice *invoice)
{
    DwPieceFact facts[] = {
        {dw_dossier_say(d, "paper", "name"), dw_memory_text(invoice->customer_name)},
        {dw_dossier_say(d, "paper", "address"), dw_memory_text(invoice->customer_address)},
        {dw_dossier_say(d, "invoice", "number"), dw_invoice_number(invoice)},
        {dw_dossier_say(d, "invoice", "issued"), dw_dossier_day(invoice->issued_on)},
        {dw_dossier_say(d, "invoice", "corrects"), corrected(d, invoice)},
        {dw_dossier_say(d, "invoice", "supplied"), dw_dossier_day(invoice->supplied_on)},
        {dw_dossier_say(d, "invoice", "due"), dw_dossier_day(invoice->due_on)},
        {dw_dossier_say(d, "invoice", "paid"), dw_dossier_day(invoice->paid_on)},
    };
    size_t count = sizeof facts / sizeof *facts;
    d->bill = invoice;
    dw_dossier_add_head_with(d, dw_dossier_say(d, "invoice", title_of(invoice)), dw_dossier_say(d, "invoice", "to"),
                             facts, count);
    for (size_t i = 0; i < count; i++)
        free(facts[i].value);
    d->bill = NULL;
}

// What a line bills; of a common invoice of a visit with the job that it is of where that is another.
static char *billed_name(const DwDossier *d, const DwBillLine *line)
{
    DwJob job;
    char *name = dw_bill_line_name(line->name, line->kind, line->minutes, line->quantity);
    dw_record_init(&job.record, &dw_job_entity);
    if (line->job_id && dw_record_load(d->book, &job.record, line->job_id, NULL) == DW_OK) {
        char *text = dw_text_format("%04lld: %s", (long long)job.number, name);
        free(name);
        name = text;
    }
    dw_record_clear(&job.record);
    return name;
}

// Where lines are taxed differently each says how.
static char *taxed_name(const DwDossier *d, const DwInvoice *invoice, const DwBillLine *line, size_t shares)
{
    char *name = billed_name(d, line);
    DwTaxShare tax = dw_bill_line_tax(line, invoice->tax_rate);
    if (shares < 2)
        return name;
    char *how = tax.category == 'S'
                    ? dw_paper_tax_name(d, tax.rate)
                    : dw_memory_text(dw_dossier_say(d, "invoice", tax.category == 'Z' ? "zero" : "exempt"));
    char *text = dw_text_format("%s (%s)", name, how);
    free(name);
    free(how);
    return text;
}

static void add_line(DwDossier *d, DwPaperTable *table, const DwInvoice *invoice, const DwBillLine *line, size_t shares)
{
    char *amount = dw_dossier_amount(d, line->amount), *price = dw_dossier_amount(d, line->price);
    char *name = taxed_name(d, invoice, line, shares);
    // Without minutes an amount is so many times its price, whatever it is for.
    char *hourly = line->kind == DW_LINE_LABOUR && line->minutes && *price
                       ? dw_text_format("%s %s", price, dw_dossier_say(d, "invoice", "hourly"))
                       : dw_memory_text(price);
    dw_piece_table_row(table, (DwPaperCell[]){{.text = name}, {.text = hourly}, {.text = amount}});
    free(hourly);
    free(amount);
    free(price);
    free(name);
}

// A row for each rate of tax, with what it is on where there are several.
static void add_taxes(const DwDossier *d, DwPaperTable *table, const DwTaxShares *shares)
{
    for (size_t i = 0; i < shares->count; i++) {
        const DwTaxShare *share = &shares->shares[i];
        char *on = dw_dossier_amount(d, share->amount), *rate = dw_paper_tax_name(d, share->rate);
        const char *key = share->category == 'S' ? "tax.on" : share->category == 'Z' ? "zero.on" : "exempt.on";
        char *name = shares->count > 1 ? dw_paper_words_fill(d->words, "invoice", key, "tax", rate, "amount", on, NULL)
                                       : dw_memory_text(rate);
        if (share->category == 'S' || shares->count > 1)
            dw_bill_add_sum(d, table, name, &share->tax, 1, false);
        free(on);
        free(rate);
        free(name);
    }
}

// What was credited and paid, and what is left: BT-113 and BT-115 of EN 16931-1.
static DwStatus add_balance(const DwDossier *d, DwPaperTable *table, const DwInvoice *invoice, DwMessage *message)
{
    DwBalance balance = {0};
    DwStatus status = dw_payment_balance(d->book, invoice->record.id, &balance, message);
    if (status != DW_OK || dw_invoice_is_credit(invoice) || (!balance.paid && !balance.credited))
        return status;
    int64_t credited = -balance.credited, paid = -balance.paid, due = balance.due < 0 ? -balance.due : balance.due;
    if (balance.credited)
        dw_bill_add_sum(d, table, dw_dossier_say(d, "invoice", "credited"), &credited, 1, false);
    if (balance.paid)
        dw_bill_add_sum(d, table, dw_dossier_say(d, "invoice", "paid_before"), &paid, 1, false);
    dw_bill_add_sum(d, table, dw_dossier_say(d, "invoice", balance.due < 0 ? "pay_back" : "left"), &due, 1, true);
    return DW_OK;
}

static DwStatus add_invoice_lines(DwDossier *d, const DwInvoice *invoice, DwMessage *message)
{
    static const DwPaperColumn columns[] = {
        {"line", 0.56, DW_CELL_LEFT}, {"price", 0.22, DW_CELL_RIGHT}, {"amount", 0.22, DW_CELL_RIGHT}};
    DwRecords lines;
    DwTaxShares shares;
    DwStatus status =
        dw_record_list(d->book, &dw_invoice_line_entity, "invoice_id", invoice->record.id, &lines, message);
    if (status != DW_OK)
        return status;
    status = dw_bill_shares(&lines, DW_TIER_FULL, invoice->tax_rate, &shares, message);
    if (status == DW_OK) {
        DwTotals totals = dw_bill_totals(&shares);
        dw_piece_heading(d->flow, dw_dossier_say(d, "invoice", "lines"));
        DwPaperTable table = dw_dossier_table(d, "invoice", columns, 3);
        for (size_t i = 0; i < lines.count; i++)
            add_line(d, &table, invoice, (const DwBillLine *)dw_records_at(&lines, i), shares.count);
        if (totals.tax || shares.count > 1) {
            dw_bill_add_sum(d, &table, dw_dossier_say(d, "paper", "net"), &totals.net, 1, false);
            add_taxes(d, &table, &shares);
        }
        dw_bill_add_sum(d, &table, dw_dossier_say(d, "paper", "total"), &totals.gross, 1, true);
        dw_tax_shares_clear(&shares);
        status = add_balance(d, &table, invoice, message);
    }
    dw_records_clear(&lines);
    return status;
}

// Whether LINES hold one without tax, whose reason is to be said.
static bool has_exempt(const DwDossier *d, const DwInvoice *invoice)
{
    DwTaxShares shares;
    bool found = false;
    if (dw_invoice_shares(d->book, invoice->record.id, &shares, NULL) != DW_OK)
        return false;
    for (size_t i = 0; i < shares.count; i++)
        found = found || shares.shares[i].category == 'E';
    dw_tax_shares_clear(&shares);
    return found;
}

// How amounts were rounded, why no tax is charged, by when and where to it is to be paid.
static void add_terms(DwDossier *d, const DwInvoice *invoice)
{
    char *holder = invoice->state == DW_INVOICE_ISSUED ? dw_memory_text(invoice->account_name)
                                                       : dw_dossier_setting(d, "shop.account_name");
    char *account = dw_paper_words_fill(d->words, "invoice", *holder ? "account.of" : "account", "account",
                                        invoice->account ? invoice->account : "", "holder", holder, NULL);
    char *rounding = dw_sentence(d, "invoice", "rounding", invoice, NULL);
    dw_piece_paragraph(d->flow, rounding);
    free(rounding);
    if (invoice->exempt_reason && has_exempt(d, invoice))
        dw_piece_paragraph(d->flow, invoice->exempt_reason);
    if (!dw_invoice_is_credit(invoice)) {
        dw_piece_paragraph(d->flow, invoice->terms ? invoice->terms : "");
        if (invoice->account && *invoice->account)
            dw_piece_paragraph(d->flow, account);
    }
    free(holder);
    free(account);
}

// "Belt; bearing cleaned, 40 min": what was fitted and worked and stands on no invoice.
static DwStatus add_unbilled(DwDossier *d, const DwInvoice *invoice, DwMessage *message)
{
    static const char *const keys[] = {"unbilled.draft", "unbilled.issued"};
    DwUnbilled unbilled;
    DwStatus status = dw_unbilled_read(d->book, d->job.record.id, &unbilled, message);
    if (status != DW_OK)
        return status;
    DwText items = {0};
    for (size_t i = 0; i < unbilled.count; i++) {
        const DwUnbilledItem *item = &unbilled.items[i];
        char *name = dw_bill_line_name(item->name, item->kind, item->minutes, item->quantity);
        dw_text_add(&items, "%s%s", i ? "; " : "", name);
        free(name);
    }
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        char *text = dw_sentence(d, "invoice", keys[i], invoice, "items", items.length ? items.chars : "", NULL);
        dw_piece_paragraph(d->flow, text);
        free(text);
    }
    dw_text_clear(&items);
    dw_unbilled_clear(&unbilled);
    return DW_OK;
}

// Used and reconditioned parts are declared, and what became of the old ones.
static DwStatus add_declared_parts(DwDossier *d, const DwInvoice *invoice, DwMessage *message)
{
    DwRecords parts;
    DwStatus status = dw_invoice_parts(d->book, invoice, &parts, message);
    if (status != DW_OK)
        return status;
    if (parts.count)
        dw_piece_heading(d->flow, dw_dossier_say(d, "invoice", "parts"));
    for (size_t i = 0; i < parts.count; i++) {
        const DwFittedPart *part = (const DwFittedPart *)dw_records_at(&parts, i);
        char *condition = dw_dossier_field(d, &part->record, "condition");
        char *old = dw_dossier_field(d, &part->record, "old_part");
        char *text = dw_paper_words_fill(d->words, "invoice", *old ? "old_part" : "part", "part", part->name,
                                         "condition", condition, "old", old, NULL);
        dw_piece_item(d->flow, text);
        free(text);
        free(condition);
        free(old);
    }
    dw_records_clear(&parts);
    return DW_OK;
}

// Adds the text KEY with NAME filled in by VALUE, where there is a value.
static void add_said(const DwDossier *d, DwText *text, const char *key, const char *name, const char *value)
{
    if (!value || !*value)
        return;
    char *said = dw_paper_words_fill(d->words, "paper", key, name, value, NULL);
    dw_text_add(text, " %s", said);
    free(said);
}

void dw_paper_add_warranty(DwDossier *d, const char *from, const char *until, const char *covers, const char *excludes)
{
    DwText text = {0};
    char *days = dw_dossier_setting(d, "warranty.days"), *first = dw_dossier_day(from), *last = dw_dossier_day(until);
    char *runs = dw_sentence(d, "paper", "warranty.runs", NULL, "from", first, "until", last, NULL);
    free(first);
    free(last);
    char *to_come = dw_sentence(d, "paper", "warranty.to_come", NULL, "days", days, NULL);
    dw_text_add(&text, "%s%s", runs, to_come);
    if (text.length) {
        add_said(d, &text, "warranty.covers", "covers", covers);
        add_said(d, &text, "warranty.excludes", "excludes", excludes);
        dw_dossier_add_section(d, "paper", "warranty", text.chars);
    }
    dw_text_clear(&text);
    free(runs);
    free(to_come);
    free(days);
}

// What an invoice says and a credit note does not: what was agreed, which parts went in, what is under warranty.
static DwStatus add_of_work(DwDossier *d, const DwInvoice *invoice, DwMessage *message)
{
    DwStatus status = dw_bill_add_consents(d, 0, invoice->issued_at, message);
    if (status == DW_OK)
        status = add_declared_parts(d, invoice, message);
    if (status != DW_OK)
        return status;
    if (invoice->warranty_until && *invoice->warranty_until)
        dw_paper_add_warranty(d, invoice->warranty_from, invoice->warranty_until, invoice->warranty_covers,
                              invoice->warranty_excludes);
    dw_dossier_add_cautions(d, DW_CAUTIONS_OF_WORK, "");
    return DW_OK;
}

// "0013 Hollin D1": the decks of the other jobs on it, as the numbers before their lines need it.
static DwStatus add_other_decks(DwDossier *d, const DwInvoice *invoice, DwMessage *message)
{
    char *decks = NULL;
    DwStatus status = dw_invoice_other_decks(d->book, invoice, &decks, message);
    if (status == DW_OK) {
        char *text = dw_sentence(d, "invoice", "visit", invoice, "decks", decks, NULL);
        dw_piece_paragraph(d->flow, text);
        free(text);
    }
    free(decks);
    return status;
}

static DwStatus add_body(DwDossier *d, const DwInvoice *invoice, DwMessage *message)
{
    bool credit = dw_invoice_is_credit(invoice);
    char *draft = dw_sentence(d, "invoice", "draft.text", invoice, NULL);
    if (*draft)
        dw_piece_box(d->flow, dw_dossier_say(d, "invoice", "draft"), draft, false);
    free(draft);
    DwStatus status = add_other_decks(d, invoice, message);
    if (status == DW_OK)
        status = add_invoice_lines(d, invoice, message);
    if (status == DW_OK)
        add_terms(d, invoice);
    if (status == DW_OK && !credit)
        status = add_unbilled(d, invoice, message);
    if (status != DW_OK)
        return status;
    dw_piece_paragraph(d->flow, invoice->words ? invoice->words : "");
    return credit ? DW_OK : add_of_work(d, invoice, message);
}

// The invoice that was asked for, which is one of the job, else the newest.
static DwStatus choose(const DwDossier *d, DwInvoice *invoice, DwMessage *message)
{
    if (!d->invoice)
        return dw_paper_newest(d, &invoice->record, true, message);
    DwStatus status = dw_invoice_find(d->book, d->invoice, invoice, message);
    return status == DW_OK && invoice->job_id != d->job.record.id
               ? dw_fail(message, DW_BAD_INPUT, "Invoice %s belongs to another job than %s.", d->invoice, d->number)
               : status;
}

// An issued invoice names the deck as it was called then.
static DwStatus thaw(DwDossier *d, const DwInvoice *invoice, DwMessage *message)
{
    DwRecord *const records[] = {&d->deck.record, &d->arm.record, &d->cartridge.record, &d->stylus.record};
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < sizeof records / sizeof *records; i++)
        status = dw_invoice_thaw(d->book, invoice, records[i], message);
    return status;
}

// An issued invoice goes with its electronic form, where the shop has said all that this asks for.
static void add_electronic(DwDossier *d, const DwInvoice *invoice)
{
    if (invoice->state != DW_INVOICE_ISSUED || !invoice->issued_on ||
        dw_ubl_write(d->book, invoice->record.id, &d->electronic, NULL) != DW_OK)
        return;
    char *number = dw_invoice_number(invoice);
    d->electronic_name = dw_text_format("%s-%s.xml", dw_invoice_is_credit(invoice) ? "credit-note" : "invoice", number);
    d->electronic_on = dw_memory_text(invoice->issued_on);
    free(number);
}

DwStatus dw_paper_invoice(DwDossier *d, DwMessage *message)
{
    DwInvoice invoice;
    dw_record_init(&invoice.record, &dw_invoice_entity);
    DwStatus status = choose(d, &invoice, message);
    if (status == DW_OK)
        status = thaw(d, &invoice, message);
    if (status == DW_OK && invoice.currency && *invoice.currency) {
        free(d->currency);
        d->currency = dw_memory_text(invoice.currency);
    }
    if (status == DW_OK) {
        add_invoice_head(d, &invoice);
        status = dw_dossier_add_unsafe(d, message);
    }
    if (status == DW_OK)
        status = add_body(d, &invoice, message);
    if (status == DW_OK)
        add_electronic(d, &invoice);
    dw_record_clear(&invoice.record);
    return status;
}
