// SPDX-License-Identifier: MIT
#include "book/money/credit.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/store/private.h"

#include <stdlib.h>

static DwStatus sum_gross(DwBook *book, const DwRecords *invoices, int64_t *gross, DwMessage *message)
{
    DwStatus status = DW_OK;
    *gross = 0;
    for (size_t i = 0; status == DW_OK && i < invoices->count; i++) {
        DwTotals totals = {0};
        status = dw_invoice_totals(book, dw_records_at(invoices, i)->id, &totals, message);
        *gross += totals.gross;
    }
    return status;
}

static DwStatus sum_where(DwBook *book, const char *where, int64_t id, int64_t *gross, size_t *count,
                          DwMessage *message)
{
    DwRecords invoices;
    *gross = 0;
    DwStatus status = dw_record_select(book, &dw_invoice_entity, where, id, &invoices, message);
    if (status != DW_OK)
        return status;
    status = sum_gross(book, &invoices, gross, message);
    *count = invoices.count;
    dw_records_clear(&invoices);
    return status;
}

#define CREDITS "state = 'issued' AND kind <> 'invoice'"
#define REPLACED                                                                                                       \
    "(SELECT corrects_id FROM invoice WHERE corrects_id IS NOT NULL AND state = 'issued' AND kind = 'invoice')"
#define CANCELLED                                                                                                      \
    "(SELECT corrects_id FROM invoice WHERE corrects_id IS NOT NULL AND state = 'issued' AND kind = 'cancellation')"

DwStatus dw_credit_total(DwBook *book, int64_t invoice, int64_t *amount, DwMessage *message)
{
    size_t count;
    int64_t replaced = 0, gross = 0;
    DwStatus status = dw_query_number(
        book, "SELECT count(*) FROM invoice WHERE id = ?1 AND (id IN " REPLACED " OR id IN " CANCELLED ")", invoice,
        &replaced, message);
    if (status == DW_OK && replaced) {
        DwTotals totals = {0};
        status = dw_invoice_totals(book, invoice, &totals, message);
        gross = totals.gross;
    } else if (status == DW_OK)
        status = sum_where(book, "WHERE corrects_id = ? AND " CREDITS, invoice, &gross, &count, message);
    if (status == DW_OK)
        *amount = gross;
    return status;
}

// What the lines of INVOICE that are of JOB come to with their tax.
static DwStatus share_of_job(DwBook *book, const DwInvoice *invoice, int64_t job, int64_t *gross, DwMessage *message)
{
    DwRecords lines;
    DwTaxShares shares;
    DwStatus status = dw_record_list(book, &dw_invoice_line_entity, "invoice_id", invoice->record.id, &lines, message);
    if (status != DW_OK)
        return status;
    size_t kept = 0;
    for (size_t i = 0; i < lines.count; i++) {
        DwBillLine *line = (DwBillLine *)dw_records_at(&lines, i);
        if (dw_bill_line_job(line, invoice->job_id) != job)
            continue;
        DwBillLine swapped = *(DwBillLine *)dw_records_at(&lines, kept);
        *(DwBillLine *)dw_records_at(&lines, kept++) = *line;
        *line = swapped;
    }
    DwRecords own = {lines.entity, lines.items, kept};
    status = dw_bill_shares(&own, DW_TIER_FULL, invoice->tax_rate, &shares, message);
    if (status == DW_OK) {
        *gross += dw_bill_totals(&shares).gross;
        dw_tax_shares_clear(&shares);
    }
    dw_records_clear(&lines);
    return status;
}

#define OF_JOB "(job_id = ?1 OR id IN (SELECT invoice_id FROM invoice_line WHERE job_id = ?1))"

static DwStatus sum_of_job(DwBook *book, const char *where, int64_t job, int64_t *gross, DwMessage *message)
{
    DwRecords invoices;
    *gross = 0;
    DwStatus status = dw_record_select(book, &dw_invoice_entity, where, job, &invoices, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; status == DW_OK && i < invoices.count; i++)
        status = share_of_job(book, (const DwInvoice *)dw_records_at(&invoices, i), job, gross, message);
    dw_records_clear(&invoices);
    return status;
}

DwStatus dw_credit_asked(DwBook *book, int64_t job, int64_t *gross, DwMessage *message)
{
    int64_t asked = 0, credited = 0;
    DwStatus status =
        sum_of_job(book, "WHERE " OF_JOB " AND state = 'issued' AND kind = 'invoice' AND id NOT IN " REPLACED, job,
                   &asked, message);
    if (status == DW_OK)
        status = sum_of_job(book, "WHERE " OF_JOB " AND " CREDITS, job, &credited, message);
    if (status == DW_OK)
        *gross = asked - credited;
    return status;
}

// What INVOICE wants to correct, which is ORIGINAL.
static DwStatus check_original(DwBook *book, const DwInvoice *invoice, const DwInvoice *original, DwMessage *message)
{
    int64_t replaced = 0, credited = 0, cancelled = 0;
    size_t credits = 0;
    DwTotals totals = {0};
    char *number = dw_invoice_number(original);
    DwStatus status = dw_query_number(book, "SELECT count(*) FROM invoice WHERE id = ?1 AND id IN " REPLACED,
                                      original->record.id, &replaced, message);
    if (status == DW_OK)
        status =
            sum_where(book, "WHERE corrects_id = ? AND " CREDITS, original->record.id, &credited, &credits, message);
    if (status == DW_OK)
        status = dw_query_number(book, "SELECT count(*) FROM invoice WHERE id = ?1 AND id IN " CANCELLED,
                                 original->record.id, &cancelled, message);
    if (status == DW_OK)
        status = dw_invoice_totals(book, original->record.id, &totals, message);
    bool wholly = cancelled || (credits && credited == totals.gross);
    if (status == DW_OK && original->job_id != invoice->job_id)
        status = dw_fail(message, DW_BAD_INPUT, "The invoice that it corrects belongs to another job.");
    else if (status == DW_OK && (original->state != DW_INVOICE_ISSUED || original->record.id == invoice->record.id))
        status =
            dw_fail(message, DW_BAD_INPUT, "Only an invoice that was issued is corrected. Change the draft itself.");
    else if (status == DW_OK && dw_invoice_is_credit(original))
        status =
            dw_fail(message, DW_BAD_INPUT, "%s is a credit note. Correct it with another invoice of the job.", number);
    else if (status == DW_OK && replaced)
        status = dw_fail(message, DW_BAD_INPUT, "Another invoice stands in the place of %s. Correct that one.", number);
    else if (status == DW_OK && wholly)
        status =
            dw_fail(message, DW_BAD_INPUT,
                    invoice->kind == DW_INVOICE_PLAIN
                        ? "%s was credited wholly already. Issue the new invoice without naming it: empty corrects_id."
                        : "%s was credited wholly already.",
                    number);
    else if (status == DW_OK && credits && invoice->kind == DW_INVOICE_PLAIN)
        status = dw_fail(message, DW_BAD_INPUT,
                         "%s was credited in part already. Cancel the rest of it, and issue the new invoice without "
                         "naming it.",
                         number);
    free(number);
    return status;
}

// No more is taken off than is left.
static DwStatus check_amount(DwBook *book, const DwInvoice *credit, const DwInvoice *original, DwMessage *message)
{
    DwTotals of_credit = {0}, of_original = {0};
    int64_t credited = 0;
    DwStatus status = dw_invoice_totals(book, credit->record.id, &of_credit, message);
    if (status == DW_OK)
        status = dw_invoice_totals(book, original->record.id, &of_original, message);
    if (status == DW_OK)
        status = dw_credit_total(book, original->record.id, &credited, message);
    if (status != DW_OK)
        return status;
    int64_t left = of_original.gross - credited;
    // A cancellation takes what is left of each rate (check_rates); its tax, rounded anew, may be a unit more or less.
    bool cancels = credit->kind == DW_INVOICE_CANCELLATION && of_credit.gross >= 0;
    if (cancels || (of_credit.gross > 0 && of_credit.gross <= left))
        return DW_OK;
    char *amount = dw_money_text(of_credit.gross, book->amount_digits),
         *most = dw_money_text(left, book->amount_digits);
    char *number = dw_invoice_number(original);
    dw_fail(message, DW_BAD_INPUT,
            "The credit note comes to %s. It can take more than 0 and at most %s off invoice %s.", amount, most,
            number);
    free(amount);
    free(most);
    free(number);
    return DW_BAD_INPUT;
}

// What is left of each rate of ORIGINAL once what was credited before is taken off.
static DwStatus shares_left(DwBook *book, int64_t original, DwTaxShares *left, DwMessage *message)
{
    DwRecords credits;
    DwStatus status =
        dw_record_select(book, &dw_invoice_entity, "WHERE corrects_id = ? AND " CREDITS, original, &credits, message);
    if (status != DW_OK)
        return status;
    status = dw_invoice_shares(book, original, left, message);
    for (size_t i = 0; status == DW_OK && i < credits.count; i++) {
        DwTaxShares taken;
        status = dw_invoice_shares(book, dw_records_at(&credits, i)->id, &taken, message);
        if (status != DW_OK)
            break;
        for (size_t j = 0; j < taken.count; j++)
            dw_tax_shares_find(left, taken.shares[j])->amount -= taken.shares[j].amount;
        dw_tax_shares_clear(&taken);
    }
    dw_records_clear(&credits);
    if (status != DW_OK)
        dw_tax_shares_clear(left);
    return status;
}

static DwStatus fail_rate(const DwBook *book, const DwTaxShare *wanted, int64_t most, DwMessage *message)
{
    char *amount = dw_money_text(wanted->amount, book->amount_digits),
         *left = dw_money_text(most > 0 ? most : 0, book->amount_digits);
    char *rate = wanted->category == 'S'   ? dw_say("taxed at %g %%", 100.0 * (double)wanted->rate / DW_RATE_WHOLE)
                 : wanted->category == 'Z' ? dw_memory_text(dw_said("taxed at 0 %"))
                                           : dw_memory_text(dw_said("exempt from tax"));
    dw_fail(message, DW_BAD_INPUT,
            "The credit note takes %s off what is %s, and %s of that is left on the invoice. Split its lines as the "
            "invoice was taxed, each with its own tax.",
            amount, rate, left);
    free(amount);
    free(left);
    free(rate);
    return DW_BAD_INPUT;
}

// Tax is given back at the rate at which it was charged, and no more of it.
static DwStatus check_rates(DwBook *book, const DwInvoice *credit, const DwInvoice *original, DwMessage *message)
{
    DwTaxShares left, wanted = {0};
    DwStatus status = shares_left(book, original->record.id, &left, message);
    if (status != DW_OK)
        return status;
    status = dw_invoice_shares(book, credit->record.id, &wanted, message);
    for (size_t i = 0; status == DW_OK && i < wanted.count; i++) {
        int64_t most = dw_tax_shares_find(&left, wanted.shares[i])->amount;
        if (wanted.shares[i].amount > most)
            status = fail_rate(book, &wanted.shares[i], most, message);
    }
    dw_tax_shares_clear(&left);
    dw_tax_shares_clear(&wanted);
    return status;
}

DwStatus dw_credit_check(DwBook *book, const DwInvoice *invoice, DwMessage *message)
{
    bool credit = dw_invoice_is_credit(invoice);
    if (!invoice->corrects_id)
        return credit ? dw_fail(message, DW_BAD_INPUT, "A credit note names the invoice that it corrects: corrects_id.")
                      : DW_OK;
    DwInvoice original;
    dw_record_init(&original.record, &dw_invoice_entity);
    DwStatus status = dw_record_load(book, &original.record, invoice->corrects_id, message);
    if (status == DW_OK)
        status = check_original(book, invoice, &original, message);
    if (status == DW_OK && credit)
        status = check_amount(book, invoice, &original, message);
    if (status == DW_OK && credit)
        status = check_rates(book, invoice, &original, message);
    dw_record_clear(&original.record);
    return status;
}

// What the credit note shares with the invoice it names.
static void take_head(const DwInvoice *original, DwInvoice *credit)
{
    credit->job_id = original->job_id;
    credit->corrects_id = original->record.id;
    credit->tax_rate = original->tax_rate;
    dw_field_replace(&credit->customer_name, original->customer_name);
    dw_field_replace(&credit->customer_address, original->customer_address);
    dw_field_replace(&credit->customer_country, original->customer_country);
    dw_field_replace(&credit->exempt_reason, original->exempt_reason);
    dw_field_replace(&credit->currency, original->currency);
    dw_field_replace(&credit->supplied_on, original->supplied_on);
}

static DwStatus take_lines(DwBook *book, int64_t from, int64_t to, DwMessage *message)
{
    DwRecords lines;
    DwStatus status = dw_record_list(book, &dw_invoice_line_entity, "invoice_id", from, &lines, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; status == DW_OK && i < lines.count; i++)
        status =
            dw_bill_copy_line(book, (const DwBillLine *)dw_records_at(&lines, i), &dw_invoice_line_entity, to, message);
    dw_records_clear(&lines);
    return status;
}

// Taxes LINE as the bill of INVOICE, or where no line of that is taxed so, as its first rate.
static DwStatus take_tax(DwBook *book, const DwInvoice *invoice, DwBillLine *line, DwMessage *message)
{
    DwTaxShares shares;
    DwStatus status = dw_invoice_shares(book, invoice->corrects_id, &shares, message);
    if (status != DW_OK)
        return status;
    DwTaxShare whole = dw_bill_line_tax(line, invoice->tax_rate);
    bool same = shares.count == 0;
    for (size_t i = 0; i < shares.count; i++)
        same = same || (shares.shares[i].category == whole.category && shares.shares[i].rate == whole.rate);
    if (!same) {
        const DwTaxShare *first = &shares.shares[0];
        line->tax = first->category == 'S' ? DW_TAX_OWN_RATE : first->category == 'Z' ? DW_TAX_ZERO : DW_TAX_EXEMPT;
        line->tax_rate = first->rate;
    }
    dw_tax_shares_clear(&shares);
    return DW_OK;
}

static DwStatus add_one_line(DwBook *book, const DwInvoice *credit, const char *name, int64_t amount,
                             DwMessage *message)
{
    DwBillLine line;
    dw_record_init(&line.record, &dw_invoice_line_entity);
    line.bill_id = credit->record.id;
    line.kind = DW_LINE_CHARGE;
    line.name = dw_memory_text(name);
    line.amount = amount;
    DwStatus status = take_tax(book, credit, &line, message);
    if (status == DW_OK)
        status = dw_bill_add(book, &line, message);
    dw_record_clear(&line.record);
    return status;
}

// The names of the lines of the invoice FROM that are taxed as SHARE. The caller frees them with free().
static char *names_at(const DwRecords *lines, int64_t rate, const DwTaxShare *share)
{
    DwText names = {0};
    for (size_t i = 0; i < lines->count; i++) {
        const DwBillLine *line = (const DwBillLine *)dw_records_at(lines, i);
        DwTaxShare tax = dw_bill_line_tax(line, rate);
        if (tax.category == share->category && tax.rate == share->rate)
            dw_text_add(&names, "%s%s", names.length ? "; " : "", line->name);
    }
    dw_text_add(&names, "%s", "");
    return dw_text_take(&names);
}

// What is left of each rate once the credit notes before are taken off, as a line each.
static DwStatus take_rest(DwBook *book, const DwInvoice *original, const DwInvoice *credit, DwMessage *message)
{
    DwRecords lines;
    DwTaxShares left;
    DwStatus status = dw_record_list(book, &dw_invoice_line_entity, "invoice_id", original->record.id, &lines, message);
    if (status != DW_OK)
        return status;
    status = shares_left(book, original->record.id, &left, message);
    for (size_t i = 0; status == DW_OK && i < left.count; i++) {
        const DwTaxShare *share = &left.shares[i];
        DwBillLine line;
        dw_record_init(&line.record, &dw_invoice_line_entity);
        line.bill_id = credit->record.id;
        line.kind = DW_LINE_CHARGE;
        line.name = names_at(&lines, original->tax_rate, share);
        line.amount = share->amount;
        line.tax = share->category == 'S' ? DW_TAX_OWN_RATE : share->category == 'Z' ? DW_TAX_ZERO : DW_TAX_EXEMPT;
        line.tax_rate = share->category == 'S' ? share->rate : 0;
        if (share->amount > 0)
            status = dw_bill_add(book, &line, message);
        dw_record_clear(&line.record);
    }
    if (status == DW_OK)
        dw_tax_shares_clear(&left);
    dw_records_clear(&lines);
    return status;
}

static DwStatus draft(DwBook *book, int64_t id, DwInvoiceKind kind, const char *name, int64_t amount, DwInvoice *credit,
                      DwMessage *message)
{
    DwInvoice original;
    dw_record_init(&original.record, &dw_invoice_entity);
    DwStatus status = dw_record_load(book, &original.record, id, message);
    credit->kind = (int)kind;
    int64_t before = 0;
    if (status == DW_OK)
        status = dw_query_number(book, "SELECT count(*) FROM invoice WHERE corrects_id = ? AND " CREDITS, id, &before,
                                 message);
    if (status == DW_OK) {
        take_head(&original, credit);
        status = check_original(book, credit, &original, message);
    }
    if (status == DW_OK)
        status = dw_record_keep(book, &credit->record, message);
    if (status == DW_OK)
        status = name     ? add_one_line(book, credit, name, amount, message)
                 : before ? take_rest(book, &original, credit, message)
                          : take_lines(book, id, credit->record.id, message);
    dw_record_clear(&original.record);
    return status;
}

DwStatus dw_credit_draft(DwBook *book, int64_t invoice, const char *name, int64_t amount, DwInvoice *credit,
                         DwMessage *message)
{
    DwStatus status = dw_book_begin(book, message);
    if (status == DW_OK)
        status = dw_book_end(book, draft(book, invoice, DW_INVOICE_CREDIT, name, amount, credit, message), message);
    if (status != DW_OK)
        credit->record.id = 0;
    return status;
}

DwStatus dw_credit_cancel(DwBook *book, int64_t invoice, const char *words, DwInvoice *credit, DwMessage *message)
{
    if (!*words)
        return dw_fail(message, DW_BAD_INPUT, "Say why the invoice is cancelled; it is printed on the credit note.");
    DwStatus status = dw_book_begin(book, message);
    if (status != DW_OK)
        return status;
    dw_field_replace(&credit->words, words);
    status = draft(book, invoice, DW_INVOICE_CANCELLATION, NULL, 0, credit, message);
    int64_t id = credit->record.id;
    if (status == DW_OK)
        status = dw_invoice_issue(book, id, message);
    if (status == DW_OK)
        status = dw_record_load(book, &credit->record, id, message);
    status = dw_book_end(book, status, message);
    if (status != DW_OK)
        credit->record.id = 0;
    return status;
}
