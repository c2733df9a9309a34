// SPDX-License-Identifier: MIT
// What an owner asks besides the first page's numbers: what was wrong, what it cost, what to do, the warranty.
#include "base/memory.h"
#include "base/text.h"
#include "book/job/finding.h"
#include "book/job/verdict.h"
#include "book/money/consent.h"
#include "book/money/payment.h"
#include "report/papers.h"
#include "report/sentence/sentence.h"
#include "report/standing.h"

#include <stdlib.h>
#include <string.h>

static const char *say(const DwDossier *d, const char *key)
{
    return dw_dossier_say(d, "service", key);
}

// What causes it; else that it did not show here.
static char *cause_of(const DwDossier *d, const DwFinding *finding)
{
    if (finding->cause && *finding->cause)
        return dw_memory_text(finding->cause);
    char *confirmed = dw_record_text(d->book, &finding->record, dw_field_find(&dw_finding_entity, "confirmed"));
    char *text = dw_memory_text(strcmp(confirmed, "not confirmed") == 0 ? say(d, "wrong.not_seen") : "–");
    free(confirmed);
    return text;
}

static void add_causes(DwDossier *d, const DwRecords *findings)
{
    static const DwPaperColumn columns[] = {{"symptom", 0.5, DW_CELL_LEFT}, {"cause", 0.5, DW_CELL_LEFT}};
    DwPaperTable table = dw_dossier_table(d, "service", columns, 2);
    for (size_t i = 0; i < findings->count; i++) {
        const DwFinding *finding = (const DwFinding *)dw_records_at(findings, i);
        char *cause = cause_of(d, finding);
        dw_piece_table_row(&table, (DwPaperCell[]){{.text = finding->symptom}, {.text = cause}});
        free(cause);
    }
}

// The owner's words and what came of each complaint. Words that do not fit IN_FULL stand on the proof.
static DwStatus add_wrong(DwDossier *d, bool in_full, DwMessage *message)
{
    const char *words = d->intake.words ? d->intake.words : "";
    DwRecords findings;
    DwStatus status = dw_dossier_records(d, &dw_finding_entity, &findings, message);
    if (status != DW_OK)
        return status;
    if (*words || findings.count)
        dw_piece_heading(d->flow, say(d, "wrong"));
    char *told = in_full && *words ? dw_paper_words_fill(d->words, "service", "wrong.told", "words", words, NULL)
                                   : dw_sentence(d, "service", "wrong.elsewhere", words, NULL);
    dw_piece_paragraph(d->flow, told);
    free(told);
    if (findings.count)
        add_causes(d, &findings);
    dw_records_clear(&findings);
    return DW_OK;
}

void dw_service_add_todo(DwDossier *d)
{
    char *due = dw_dossier_day(d->job.next_due_on);
    char *next = dw_sentence(d, "service", "next_due", due, "day", due, NULL);
    char *nothing = dw_sentence(d, "service", "todo.nothing", NULL, NULL);
    char *items = dw_standing_all_beyond(d),
         *beyond = dw_sentence(d, "service", "todo.beyond", NULL, "items", items, NULL);
    char *text = dw_text_format("%s\n%s\n%s%s", beyond, d->job.advice ? d->job.advice : "", next, nothing);
    bool headed = false;
    for (size_t i = 0; i < d->verdicts.count; i++) {
        const DwItemVerdict *verdict = (const DwItemVerdict *)dw_records_at(&d->verdicts, i);
        if (!verdict->action || !*verdict->action)
            continue;
        char *item = dw_paper_words_fill(d->words, "service", "todo.item", "item", verdict->item, "action",
                                         verdict->action, NULL);
        if (!headed)
            dw_piece_heading(d->flow, say(d, "advice"));
        headed = true;
        dw_piece_item(d->flow, item);
        free(item);
    }
    if (headed)
        dw_piece_paragraph(d->flow, text[2] ? text : "");
    else
        dw_dossier_add_section(d, "service", "advice", text[2] ? text : "");
    free(text);
    free(beyond);
    free(items);
    free(nothing);
    free(next);
    free(due);
}

// Whether another invoice that was given out puts this one right.
static bool is_corrected(const DwRecords *invoices, int64_t id)
{
    for (size_t i = 0; i < invoices->count; i++) {
        const DwInvoice *other = (const DwInvoice *)dw_records_at(invoices, i);
        if (other->corrects_id == id && other->state == DW_INVOICE_ISSUED && !dw_invoice_is_credit(other))
            return true;
    }
    return false;
}

// Adds what INVOICE asks for, and whether it was paid; a draft asks for nothing.
static DwStatus add_invoice_cost(const DwDossier *d, const DwInvoice *invoice, DwText *text, DwMessage *message)
{
    static const char *const keys[] = {"cost.paid", "cost.due"};
    DwBalance balance = {0};
    DwStatus status = dw_payment_balance(d->book, invoice->record.id, &balance, message);
    if (status != DW_OK)
        return status;
    int64_t cost = balance.gross - balance.credited;
    char *amount = dw_dossier_money(d, cost), *day = dw_dossier_day(invoice->issued_on);
    char *paid = dw_dossier_day(invoice->paid_on), *number = dw_invoice_number(invoice);
    for (size_t i = 0; cost > 0 && i < sizeof keys / sizeof *keys; i++) {
        char *line = dw_sentence(d, "service", keys[i], invoice, "amount", amount, "number", number, "day", day, "paid",
                                 paid, NULL);
        dw_text_add(text, "%s%s", *line && text->length ? "\n" : "", line);
        free(line);
    }
    free(amount);
    free(day);
    free(paid);
    free(number);
    return DW_OK;
}

static DwStatus add_cost(DwDossier *d, DwMessage *message)
{
    DwRecords invoices;
    DwText text = {0};
    int64_t agreed = DW_AMOUNT_NONE;
    DwStatus status = dw_dossier_records(d, &dw_invoice_entity, &invoices, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < invoices.count && status == DW_OK; i++) {
        const DwInvoice *invoice = (const DwInvoice *)dw_records_at(&invoices, i);
        if (!is_corrected(&invoices, invoice->record.id))
            status = add_invoice_cost(d, invoice, &text, message);
    }
    dw_records_clear(&invoices);
    if (status == DW_OK)
        status = dw_consent_agreed(d->book, d->job.record.id, &agreed, message);
    if (status == DW_OK) {
        char *amount = dw_dossier_money(d, agreed);
        char *line = dw_sentence(d, "service", "cost.agreed", NULL, "amount", amount, NULL);
        dw_text_add(&text, "%s", line);
        dw_dossier_add_section(d, "service", "cost.title", text.length ? text.chars : "");
        free(line);
        free(amount);
    }
    dw_text_clear(&text);
    return status;
}

static DwStatus add_warranty(DwDossier *d, DwMessage *message)
{
    DwInvoice invoice;
    DwRecords invoices;
    DwStatus status = dw_dossier_records(d, &dw_invoice_entity, &invoices, message);
    bool any = status == DW_OK && invoices.count;
    if (status != DW_OK)
        return status;
    dw_records_clear(&invoices);
    dw_record_init(&invoice.record, &dw_invoice_entity);
    if (any)
        status = dw_paper_newest(d, &invoice.record, false, message);
    char *covers = dw_dossier_setting(d, "warranty.covers"), *excludes = dw_dossier_setting(d, "warranty.excludes");
    bool runs = any && invoice.warranty_until && *invoice.warranty_until;
    dw_paper_add_warranty(d, invoice.warranty_from, invoice.warranty_until, runs ? invoice.warranty_covers : covers,
                          runs ? invoice.warranty_excludes : excludes);
    free(covers);
    free(excludes);
    dw_record_clear(&invoice.record);
    return status;
}

// Who took the deck back, once it was signed for.
static void add_handed_over(DwDossier *d)
{
    char *at = NULL;
    DwPicture *picture = dw_dossier_signature(d, DW_PHASE_AS_LEFT, &at);
    char *who = dw_paper_words_fill(d->words, "service", "signed.owner", "person", d->customer.name, NULL);
    if (picture)
        dw_piece_signature(d->flow, who, at, picture);
    free(who);
    free(at);
}

DwStatus dw_service_add_rest(DwDossier *d, bool words_in_full, DwMessage *message)
{
    DwStatus status = add_wrong(d, words_in_full, message);
    if (status == DW_OK)
        dw_service_add_path(d, words_in_full);
    if (status == DW_OK)
        status = add_cost(d, message);
    if (status == DW_OK)
        status = add_warranty(d, message);
    if (status != DW_OK)
        return status;
    dw_dossier_add_cautions(d, DW_CAUTIONS_OF_WORK, "");
    char *proof = dw_sentence(d, "service", "proof.there", NULL, "number", d->number, NULL);
    dw_dossier_add_section(d, "service", "proof", proof);
    free(proof);
    const char *who = d->job.technician ? d->job.technician : "";
    char *signature = dw_paper_words_fill(d->words, "service", "signed", "person", who, NULL);
    dw_piece_signature(d->flow, signature, dw_dossier_say(d, "paper", "date"), NULL);
    free(signature);
    add_handed_over(d);
    return DW_OK;
}
