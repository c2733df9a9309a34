// SPDX-License-Identifier: MIT
// Questions about money: estimates, what was told and agreed, invoices, warranty, and the days a deck stood.
#include "report/sentence/question.h"

#include "book/money/frozen.h"
#include "book/money/consent.h"
#include "book/money/estimate.h"
#include "book/money/invoice.h"
#include "book/money/unbilled.h"
#include "book/shop/settings.h"
#include "report/papers.h"

#include <stdlib.h>
#include <string.h>

static DwReply in_state(const DwDossier *d, const DwRecord *record, const char *word)
{
    if (!record || !record->id)
        return DW_NOT_KNOWN;
    char *state = dw_dossier_field(d, record, "state");
    bool same = strcmp(state, word) == 0;
    free(state);
    return same ? DW_YES : DW_NO;
}

static DwReply estimate_state(const DwDossier *d, const void *about, const char *word)
{
    const DwEstimate *estimate = about;
    return in_state(d, estimate ? &estimate->record : NULL, word);
}

static DwReply invoice_state(const DwDossier *d, const void *about, const char *word)
{
    const DwInvoice *invoice = about;
    return in_state(d, invoice ? &invoice->record : NULL, word);
}

static DwReply is_dear(const DwDossier *d, const void *about, const char *word)
{
    const DwDear *option = about;
    (void)d;
    (void)word;
    return !option || !option->value_known ? DW_NOT_KNOWN : option->dear ? DW_YES : DW_NO;
}

static DwReply ceiling(const DwDossier *d, const void *about, const char *word)
{
    const DwEstimate *estimate = about;
    (void)d;
    (void)word;
    return !estimate || estimate->ceiling == DW_AMOUNT_NONE ? DW_NOT_KNOWN : estimate->ceiling > 0 ? DW_YES : DW_NO;
}

static DwReply charge_told(const DwDossier *d, const void *about, const char *word)
{
    (void)about;
    (void)word;
    return !d->intake.record.id ? DW_NOT_KNOWN : d->intake.estimate_charge_told ? DW_YES : DW_NO;
}

// Whether an option of an estimate was agreed to last; where an invoice was given out, that one holds.
static DwReply is_agreed(const DwDossier *d, const void *about, const char *word)
{
    DwRecords consents, invoices;
    DwReply answer = DW_NOT_KNOWN;
    (void)about;
    (void)word;
    if (dw_dossier_records(d, &dw_consent_entity, &consents, NULL) != DW_OK)
        return answer;
    for (size_t i = 0; i < consents.count; i++) {
        const DwConsent *consent = (const DwConsent *)dw_records_at(&consents, i);
        bool agrees = consent->answer == DW_CONSENT_AGREED || consent->answer == DW_CONSENT_UP_TO;
        if (consent->estimate_id)
            answer = agrees && consent->amount != DW_AMOUNT_NONE ? DW_YES : DW_NO;
    }
    dw_records_clear(&consents);
    if (dw_dossier_records(d, &dw_invoice_entity, &invoices, NULL) != DW_OK)
        return DW_NOT_KNOWN;
    for (size_t i = 0; i < invoices.count; i++)
        if (((const DwInvoice *)dw_records_at(&invoices, i))->state == DW_INVOICE_ISSUED)
            answer = DW_NO;
    dw_records_clear(&invoices);
    return answer;
}

// Whether the invoice ABOUT bills other jobs of its visit too.
static DwReply bills_others(const DwDossier *d, const void *about, const char *word)
{
    char *decks = NULL;
    (void)word;
    if (!about || dw_invoice_other_decks(d->book, about, &decks, NULL) != DW_OK)
        return DW_NOT_KNOWN;
    DwReply answer = *decks ? DW_YES : DW_NO;
    free(decks);
    return answer;
}

// Whether tax is charged on one of its lines; not known while it has none.
static DwReply is_taxed(const DwDossier *d, const void *about, const char *word)
{
    const DwInvoice *invoice = about;
    DwTaxShares shares = {0};
    (void)word;
    if (!invoice || dw_invoice_shares(d->book, invoice->record.id, &shares, NULL) != DW_OK)
        return DW_NOT_KNOWN;
    DwReply answer = !shares.count ? DW_NOT_KNOWN : shares.shares[0].category == 'S' ? DW_YES : DW_NO;
    dw_tax_shares_clear(&shares);
    return answer;
}

// Whether what was fitted and worked stands on the job's invoices; asked of an invoice in the state WORD.
static DwReply is_billed(const DwDossier *d, const void *about, const char *word)
{
    DwUnbilled unbilled;
    if (invoice_state(d, about, word) != DW_YES)
        return DW_NOT_ASKED;
    if (dw_unbilled_read(d->book, d->job.record.id, &unbilled, NULL) != DW_OK)
        return DW_NOT_KNOWN;
    DwReply answer = unbilled.count ? DW_NO : unbilled.held ? DW_YES : DW_NOT_KNOWN;
    dw_unbilled_clear(&unbilled);
    return answer;
}

static DwReply is_paid(const DwDossier *d, const void *about, const char *word)
{
    const DwInvoice *invoice = about;
    (void)d;
    (void)word;
    if (!invoice || invoice->state == DW_INVOICE_DRAFT || dw_invoice_is_credit(invoice))
        return DW_NOT_KNOWN;
    return invoice->paid_on && *invoice->paid_on ? DW_YES : DW_NO;
}

// Yes: it runs. No: it begins with an invoice that is still to come. Not known: nothing was done that it could cover.
static DwReply warranty(const DwDossier *d, const void *about, const char *word)
{
    DwInvoice invoice;
    (void)about;
    dw_record_init(&invoice.record, &dw_invoice_entity);
    bool any = dw_paper_newest(d, &invoice.record, false, NULL) == DW_OK;
    bool runs = any && invoice.warranty_until && *invoice.warranty_until;
    dw_record_clear(&invoice.record);
    bool given = dw_settings_integer(d->book, "warranty.days") > 0;
    // A deck that leaves as its owner declined the repair gets no invoice for work that a warranty could cover.
    bool worked = d->job.state != DW_JOB_DECLINED && dw_question_worked.ask(d, NULL, word) == DW_YES;
    return runs ? DW_YES : given && (any || worked) ? DW_NO : DW_NOT_KNOWN;
}

static DwReply stands_free(const DwDossier *d, const void *about, const char *word)
{
    const DwStay *stay = about;
    (void)d;
    (void)word;
    return !stay || stay->daily <= 0 ? DW_NOT_KNOWN : strcmp(stay->day, stay->until) <= 0 ? DW_YES : DW_NO;
}

static DwReply storage(const DwDossier *d, const void *about, const char *word)
{
    const DwStay *stay = about;
    (void)d;
    (void)word;
    return !stay || stay->daily <= 0 ? DW_NOT_KNOWN : stay->storage > 0 ? DW_YES : DW_NO;
}

const DwPaperQuestion dw_question_estimate = {"is the estimate {word}?", estimate_state};
const DwPaperQuestion dw_question_dear = {"is it more than is usually spent on a deck of the value given?", is_dear};
const DwPaperQuestion dw_question_ceiling = {"did the owner name an amount that may be spent without asking?", ceiling};
const DwPaperQuestion dw_question_agreed = {"was an estimate agreed to, with no invoice yet?", is_agreed};
const DwPaperQuestion dw_question_charge_told = {"was the charge for an estimate told at the intake?", charge_told};
const DwPaperQuestion dw_question_invoice = {"is the invoice {word}?", invoice_state};
const DwPaperQuestion dw_question_bills_others = {"does the invoice bill other jobs that came in together?",
                                                  bills_others};
const DwPaperQuestion dw_question_taxed = {"is tax charged on the invoice?", is_taxed};
const DwPaperQuestion dw_question_billed = {"is all that was fitted and worked on the invoice ({word})?", is_billed};
const DwPaperQuestion dw_question_warranty = {"does the warranty run already?", warranty};
const DwPaperQuestion dw_question_paid = {"is the invoice paid?", is_paid};
const DwPaperQuestion dw_question_free = {"does the deck still stand free of a charge that there is?", stands_free};
const DwPaperQuestion dw_question_storage = {"is storage to be paid?", storage};
