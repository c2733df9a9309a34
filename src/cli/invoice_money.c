// SPDX-License-Identifier: MIT
// Payments, deposits, refunds, credit notes and cancellations.
#include "book/money/credit.h"
#include "book/money/payment.h"
#include "cli/invoice_call.h"
#include "cli/tell.h"

#include <stdlib.h>

DwStatus dw_invoice_call_find(DwBookCall *call, DwInvoice *invoice, DwMessage *message)
{
    dw_record_init(&invoice->record, &dw_invoice_entity);
    return dw_invoice_find(call->book, call->words[0], invoice, message);
}

static char *money(DwBookCall *call, int64_t amount)
{
    const DwField *field = dw_field_find(&dw_payment_entity, "amount");
    DwPayment payment;
    dw_record_init(&payment.record, &dw_payment_entity);
    payment.amount = amount;
    return dw_tell_number(dw_record_text(call->book, &payment.record, field));
}

static void print_share(DwBookCall *call, const DwTaxShare *share)
{
    char *on = money(call, share->amount), *tax = money(call, share->tax);
    if (share->category == 'S')
        dw_tell(stdout, "  tax at %g %% on %s: %s\n", 100.0 * (double)share->rate / DW_RATE_WHOLE, on, tax);
    else
        printf("  %s: %s\n", share->category == 'Z' ? dw_said("taxed at 0 %") : dw_said("exempt from tax"), on);
    free(on);
    free(tax);
}

static void print_balance(DwBookCall *call, const DwBalance *balance)
{
    char *credited = money(call, balance->credited), *paid = money(call, balance->paid);
    char *due = money(call, balance->due < 0 ? -balance->due : balance->due);
    if (balance->credited)
        dw_tell(stdout, "  credited %s", credited);
    dw_tell(stdout, "  paid %s  %s %s\n", paid, balance->due < 0 ? dw_said("to pay back") : dw_said("left to pay"),
            due);
    free(credited);
    free(paid);
    free(due);
}

DwStatus dw_invoice_call_totals(DwBookCall *call, int64_t id, DwMessage *message)
{
    DwTaxShares shares;
    DwBalance balance = {0};
    DwStatus status = dw_invoice_shares(call->book, id, &shares, message);
    if (status != DW_OK)
        return status;
    DwTotals totals = dw_bill_totals(&shares);
    char *net = money(call, totals.net), *tax = money(call, totals.tax), *gross = money(call, totals.gross);
    dw_tell(stdout, "  net %s  tax %s  total %s\n", net, tax, gross);
    for (size_t i = 0; shares.count > 1 && i < shares.count; i++)
        print_share(call, &shares.shares[i]);
    dw_tax_shares_clear(&shares);
    free(net);
    free(tax);
    free(gross);
    status = dw_payment_balance(call->book, id, &balance, message);
    if (status == DW_OK && (balance.paid || balance.credited))
        print_balance(call, &balance);
    return status;
}

// Takes PAYMENT, whose invoice or job is set, and says what is left to pay.
static DwStatus take(DwBookCall *call, DwPayment *payment, DwMessage *message)
{
    DwBalance balance = {0};
    DwStatus status = dw_book_call_doubt(call, &payment->record, message);
    if (status == DW_OK)
        status = dw_payment_take(call->book, payment, message);
    if (status != DW_OK)
        return status;
    if (call->json) {
        dw_book_call_print(call, &payment->record);
        return DW_OK;
    }
    char *amount = money(call, payment->amount);
    dw_tell(stdout, "%s of %s on %s is noted, id %lld.\n",
            payment->kind == DW_PAYMENT_REFUND    ? dw_said("A refund")
            : payment->kind == DW_PAYMENT_DEPOSIT ? dw_said("A deposit")
                                                  : dw_said("A payment"),
            amount, payment->paid_on, (long long)payment->record.id);
    free(amount);
    if (!payment->invoice_id)
        return DW_OK;
    status = dw_payment_balance(call->book, payment->invoice_id, &balance, message);
    if (status == DW_OK)
        print_balance(call, &balance);
    return status;
}

DwStatus dw_invoice_call_pay(DwBookCall *call, DwMessage *message)
{
    static const char *const keys[] = {"amount", "paid_on", "method", "reference", "words", NULL};
    DwInvoice invoice;
    DwBalance balance = {0};
    DwPayment payment;
    dw_record_init(&payment.record, &dw_payment_entity);
    DwStatus status = dw_invoice_call_find(call, &invoice, message);
    if (status == DW_OK)
        status = dw_book_call_only(call, keys, message);
    if (status == DW_OK)
        status = dw_book_call_set(call, &payment.record, message);
    if (status == DW_OK && call->word_count > 1)
        status = dw_record_set(call->book, &payment.record, "paid_on", call->words[1], message);
    if (status == DW_OK)
        status = dw_payment_balance(call->book, invoice.record.id, &balance, message);
    payment.invoice_id = invoice.record.id;
    bool all = payment.amount == DW_AMOUNT_NONE;
    if (status == DW_OK && all && invoice.state == DW_INVOICE_ISSUED && balance.due <= 0)
        status = dw_fail(message, DW_BAD_INPUT, "Nothing is left to pay of the invoice.");
    if (all)
        payment.amount = balance.due > 0 ? balance.due : 1;
    if (status == DW_OK)
        status = take(call, &payment, message);
    dw_record_clear(&invoice.record);
    dw_record_clear(&payment.record);
    return status;
}

// The amount that the call's second word says, and what else is known of it.
static DwStatus read_payment(DwBookCall *call, DwPaymentKind kind, DwPayment *payment, DwMessage *message)
{
    static const char *const keys[] = {"paid_on", "method", "reference", "words", NULL};
    DwStatus status = dw_book_call_only(call, keys, message);
    if (status == DW_OK)
        status = dw_book_call_set(call, &payment->record, message);
    if (status == DW_OK)
        status = dw_record_set(call->book, &payment->record, "amount", call->words[1], message);
    payment->kind = (int)kind;
    return status;
}

DwStatus dw_invoice_call_deposit(DwBookCall *call, DwMessage *message)
{
    DwJob job;
    DwPayment payment;
    dw_record_init(&job.record, &dw_job_entity);
    dw_record_init(&payment.record, &dw_payment_entity);
    DwStatus status = dw_job_find(call->book, call->words[0], &job, message);
    if (status == DW_OK)
        status = read_payment(call, DW_PAYMENT_DEPOSIT, &payment, message);
    payment.job_id = job.record.id;
    if (status == DW_OK)
        status = take(call, &payment, message);
    dw_record_clear(&job.record);
    dw_record_clear(&payment.record);
    return status;
}

DwStatus dw_invoice_call_refund(DwBookCall *call, DwMessage *message)
{
    DwInvoice invoice;
    DwPayment payment;
    dw_record_init(&payment.record, &dw_payment_entity);
    DwStatus status = dw_invoice_call_find(call, &invoice, message);
    if (status == DW_OK)
        status = read_payment(call, DW_PAYMENT_REFUND, &payment, message);
    payment.invoice_id = invoice.record.id;
    if (status == DW_OK)
        status = take(call, &payment, message);
    dw_record_clear(&invoice.record);
    dw_record_clear(&payment.record);
    return status;
}

static void print_credit(DwBookCall *call, const DwInvoice *credit, const DwInvoice *invoice)
{
    char *number = dw_invoice_number(credit), *of = dw_invoice_number(invoice);
    if (call->json)
        dw_book_call_print(call, &credit->record);
    else if (credit->state == DW_INVOICE_ISSUED)
        dw_tell(stdout, "Invoice %s is cancelled by credit note %s.\n", of, number);
    else
        dw_tell(stdout,
                "A credit note over invoice %s is drafted, id %lld. Take out of it what stays, then issue it.\n", of,
                (long long)credit->record.id);
    free(number);
    free(of);
}

DwStatus dw_invoice_call_credit(DwBookCall *call, DwMessage *message)
{
    static const char *const keys[] = {"name", "amount", NULL};
    const char *name = dw_book_call_operand(call, "name"), *typed = dw_book_call_operand(call, "amount");
    DwInvoice invoice, credit;
    DwBillLine line;
    dw_record_init(&credit.record, &dw_invoice_entity);
    dw_record_init(&line.record, &dw_invoice_line_entity);
    DwStatus status = dw_invoice_call_find(call, &invoice, message);
    if (status == DW_OK)
        status = dw_book_call_only(call, keys, message);
    if (status == DW_OK && !name != !typed)
        status =
            dw_fail(message, DW_BAD_INPUT, "Give both name=… and amount=…, without tax, or neither for all lines.");
    if (status == DW_OK && typed)
        status = dw_record_set(call->book, &line.record, "amount", typed, message);
    if (status == DW_OK)
        status = dw_credit_draft(call->book, invoice.record.id, name, line.amount, &credit, message);
    if (status == DW_OK)
        print_credit(call, &credit, &invoice);
    if (status == DW_OK && !call->json)
        status = dw_invoice_call_totals(call, credit.record.id, message);
    dw_record_clear(&line.record);
    dw_record_clear(&invoice.record);
    dw_record_clear(&credit.record);
    return status;
}

DwStatus dw_invoice_call_cancel(DwBookCall *call, DwMessage *message)
{
    DwInvoice invoice, credit;
    dw_record_init(&credit.record, &dw_invoice_entity);
    DwStatus status = dw_invoice_call_find(call, &invoice, message);
    if (status == DW_OK)
        status = dw_credit_cancel(call->book, invoice.record.id, call->words[1], &credit, message);
    if (status == DW_OK)
        print_credit(call, &credit, &invoice);
    if (status == DW_OK && !call->json)
        status = dw_invoice_call_totals(call, invoice.record.id, message);
    dw_record_clear(&invoice.record);
    dw_record_clear(&credit.record);
    return status;
}
