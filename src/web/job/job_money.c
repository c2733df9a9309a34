// SPDX-License-Identifier: MIT
// The job's page: estimates in versions and options, who agreed to what, and the
// invoices.
#include "base/text.h"
#include "book/job/visit.h"
#include "book/money/consent.h"
#include "book/money/payment.h"
#include "web/job/job_page.h"
#include "web/page/page.h"
#include "web/record/record_form.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

static const char *const tiers[] = {N_("minimum"), N_("recommended"), N_("full")};

static void write_money(DwJobView *view, int64_t amount)
{
    char *text = dw_job_section_amount(view, amount);
    dw_html_element(view->page->html, "td", text, "class", "number", NULL);
    free(text);
}

static void write_totals_row(DwJobView *view, const char *name, DwTotals totals)
{
    DwHtml *html = view->page->html;
    dw_html_open(html, "tr", NULL);
    dw_html_element(html, "th", name, "scope", "row", NULL);
    write_money(view, totals.net);
    write_money(view, totals.tax);
    write_money(view, totals.gross);
    dw_html_close(html, "tr");
}

static void begin_totals(DwJobView *view, const char *first)
{
    DwHtml *html = view->page->html;
    const char *heads[] = {first, _("Net"), _("Tax"), _("Total")};
    dw_html_open(html, "div", "class", "scroll", "tabindex", "0", "role", "region", "aria-label", _("Totals"), NULL);
    dw_html_open(html, "table", "class", "totals", NULL);
    dw_html_open(html, "tr", NULL);
    for (size_t i = 0; i < 4; i++)
        dw_html_element(html, "th", heads[i], "scope", "col", "class", i ? "number" : DW_HTML_NONE, NULL);
    dw_html_close(html, "tr");
}

static void end_totals(DwJobView *view)
{
    dw_html_close(view->page->html, "table");
    dw_html_close(view->page->html, "div");
}

static void write_options(DwJobView *view, int64_t estimate)
{
    bool any_uneconomic = false;
    begin_totals(view, _("Option"));
    for (int tier = DW_TIER_MINIMUM; tier <= DW_TIER_FULL; tier++) {
        DwTotals totals = {0};
        bool uneconomic = false;
        dw_estimate_totals(view->request->book, estimate, (DwTier)tier, &totals, &uneconomic, NULL);
        write_totals_row(view, dw_words(tiers[tier]), totals);
        any_uneconomic = any_uneconomic || uneconomic;
    }
    end_totals(view);
    if (any_uneconomic)
        dw_page_remark(view->page,
                       _("An option costs more than the shop's share of what an equivalent working deck costs. "
                         "Say so before the owner decides."));
}

// One act of the job as a form with a single button, which sends ID as NAME.
static void write_act(DwJobView *view, const char *act, const char *name, int64_t id, const char *words)
{
    char *text = dw_text_format("%lld", (long long)id);
    dw_job_section_form(view, act);
    dw_html_void(view->page->html, "input", "type", "hidden", "name", name, "value", text, NULL);
    dw_form_button(view->page, words);
    dw_form_end(view->page);
    free(text);
}

static void write_estimate(DwJobView *view, const DwEstimate *estimate)
{
    const DwWebRequest *request = view->request;
    DwHtml *html = view->page->html;
    int64_t id = estimate->record.id;
    char *state = dw_field_word(dw_field_find(&dw_estimate_entity, "state"), estimate->state);
    dw_html_open(html, "h3", NULL);
    dw_html_format(html, _("Version %lld, %s"), (long long)estimate->version, dw_words(state));
    dw_html_close(html, "h3");
    DwRecords self = {&dw_estimate_entity, (void *)estimate, 1};
    bool draft = estimate->state == DW_ESTIMATE_DRAFT;
    dw_record_form_list(view->page, &self, "issued_on|valid_until|tax_rate|ceiling|replacement_value|words",
                        draft ? dw_record_form_opened(request, &dw_estimate_entity) : 0, draft ? view->path : NULL);
    if (!draft)
        dw_job_section_fold(view, NULL, _("Its lines"), "", false);
    dw_job_section_list(view, &dw_estimate_line_entity, "estimate_id", id, "tier|kind|minutes|quantity|price|amount",
                        !draft);
    if (!draft)
        dw_job_section_unfold(view);
    if (draft)
        dw_record_form_fold(view->page, &dw_estimate_line_entity, "estimate_id", id, NULL, _("Add a line"));
    write_options(view, id);
    if (draft)
        write_act(view, "issue-estimate", "estimate", id, _("Give it out"));
    free(state);
}

// The newest estimate that was given out and not replaced; 0 without one.
static int64_t find_standing(const DwJobView *view)
{
    DwRecords records = {0};
    int64_t standing = 0;
    dw_record_list(view->request->book, &dw_estimate_entity, "job_id", view->job.record.id, &records, NULL);
    for (size_t i = 0; i < records.count; i++) {
        const DwEstimate *estimate = (const DwEstimate *)dw_records_at(&records, i);
        if (estimate->state == DW_ESTIMATE_ISSUED || estimate->state == DW_ESTIMATE_ACCEPTED)
            standing = estimate->record.id;
    }
    dw_records_clear(&records);
    return standing;
}

// The newest version first and whole; those before are folded.
static void write_estimates(DwJobView *view)
{
    DwRecords records = {0};
    DwHtml *html = view->page->html;
    dw_record_list(view->request->book, &dw_estimate_entity, "job_id", view->job.record.id, &records, NULL);
    for (size_t i = records.count; i > 0; i--) {
        const DwEstimate *estimate = (const DwEstimate *)dw_records_at(&records, i - 1);
        if (i == records.count - 1) {
            dw_html_open(html, "details", "class", "add", NULL);
            dw_html_element(html, "summary", _("Earlier versions"), NULL);
        }
        write_estimate(view, estimate);
    }
    if (records.count > 1)
        dw_html_close(html, "details");
    write_act(view, "estimate", "job", view->job.record.id,
              records.count ? _("Start another version") : _("Start an estimate"));
    dw_records_clear(&records);
}

// The answer that is likeliest: what is recommended, at its price, by the way the owner is told things.
static void suggest_amount(DwJobView *view, DwConsent *consent)
{
    DwTotals totals = {0};
    bool uneconomic;
    consent->tier = DW_TIER_RECOMMENDED;
    consent->how = view->owner.route;
    if (consent->estimate_id && dw_estimate_totals(view->request->book, consent->estimate_id, DW_TIER_RECOMMENDED,
                                                   &totals, &uneconomic, NULL) == DW_OK)
        consent->amount = totals.gross;
}

static void write_consents(DwJobView *view, int64_t estimate)
{
    const DwWebRequest *request = view->request;
    DwHtml *html = view->page->html;
    int64_t agreed = DW_AMOUNT_NONE;
    DwConsent consent;
    dw_consent_agreed(request->book, view->job.record.id, &agreed, NULL);
    char *amount = dw_job_section_amount(view, agreed);
    dw_html_element(html, "h3", _("What was agreed to"), NULL);
    dw_html_open(html, "p", NULL);
    dw_html_format(html, _("May be billed without asking again: %s"), amount);
    dw_html_close(html, "p");
    dw_job_section_list(view, &dw_consent_entity, "job_id", view->job.record.id, "at|tier|amount|how|contact|words|who",
                        false);
    dw_record_init(&consent.record, &dw_consent_entity);
    consent.job_id = view->job.record.id;
    consent.estimate_id = estimate;
    dw_record_set(request->book, &consent.record, "person", view->owner.name ? view->owner.name : "", NULL);
    suggest_amount(view, &consent);
    dw_job_section_fold(view, "answer", _("Write down an answer"), "", *dw_request_query(request, "answer"));
    dw_record_form_add(view->page, &consent.record, "job_id", view->job.record.id,
                       "answer|tier|estimate_id|amount|person|how|contact|words", _("Write it down"));
    dw_job_section_unfold(view);
    dw_record_clear(&consent.record);
    free(amount);
}

static void write_number(DwHtml *html, const DwInvoice *invoice)
{
    char *number = dw_invoice_number(invoice);
    if (dw_invoice_is_credit(invoice))
        dw_html_format(html, _("Credit note %s, issued on %s"), number, invoice->issued_on);
    else
        dw_html_format(html, _("Number %s, issued on %s"), number, invoice->issued_on);
    free(number);
}

static void write_cancel(DwJobView *view, int64_t invoice)
{
    char *text = dw_text_format("%lld", (long long)invoice);
    dw_html_open(view->page->html, "details", "class", "add", NULL);
    dw_html_element(view->page->html, "summary", _("Cancel the invoice"), NULL);
    dw_job_section_form(view, "cancel");
    dw_html_void(view->page->html, "input", "type", "hidden", "name", "invoice", "value", text, NULL);
    dw_form_text(view->page, "why", _("Why"), "", "text", _("Printed on the credit note."));
    dw_form_button(view->page, _("Cancel it"));
    dw_form_end(view->page);
    dw_html_close(view->page->html, "details");
    free(text);
}

// This one on paper and as an electronic one.
static void write_papers(DwJobView *view, const DwInvoice *invoice)
{
    DwHtml *html = view->page->html;
    char *paper = dw_text_format("%s/paper/invoice?invoice=%lld", view->path, (long long)invoice->record.id);
    char *file = dw_text_format("/shop/invoice/%lld/electronic", (long long)invoice->record.id);
    dw_html_open(html, "p", "class", "acts", NULL);
    dw_html_element(html, "a", _("This one as a paper"), "href", paper, "class", "button second", NULL);
    dw_html_element(html, "a", _("As an electronic invoice (XML)"), "href", file, "class", "button second", NULL);
    dw_html_close(html, "p");
    free(paper);
    free(file);
}

// What was paid and what is left; the forms that note a payment, and put the invoice right.
static void write_payments(DwJobView *view, const DwInvoice *invoice)
{
    DwHtml *html = view->page->html;
    DwBalance balance = {0};
    DwPayment payment;
    dw_payment_balance(view->request->book, invoice->record.id, &balance, NULL);
    char *due = dw_job_section_amount(view, balance.due < 0 ? -balance.due : balance.due);
    dw_html_open(html, "p", NULL);
    dw_html_format(html, balance.due < 0 ? _("To be paid back: %s") : _("Left to pay: %s"), due);
    dw_html_close(html, "p");
    free(due);
    dw_job_section_list(view, &dw_payment_entity, "invoice_id", invoice->record.id, "kind|amount|method|reference",
                        false);
    dw_record_init(&payment.record, &dw_payment_entity);
    payment.invoice_id = invoice->record.id;
    payment.job_id = view->job.record.id;
    payment.amount = balance.due > 0 ? balance.due : DW_AMOUNT_NONE;
    dw_html_open(html, "details", "class", "add", NULL);
    dw_html_element(html, "summary", _("Note a payment"), NULL);
    dw_record_form_add(view->page, &payment.record, "invoice_id", invoice->record.id,
                       "kind|amount|method|paid_on|reference", _("Write it down"));
    dw_html_close(html, "details");
    dw_record_clear(&payment.record);
    if (balance.due > 0)
        write_act(view, "pay", "invoice", invoice->record.id, _("It is paid"));
    write_papers(view, invoice);
    if (!balance.credited) {
        write_act(view, "credit", "invoice", invoice->record.id, _("Start a credit note"));
        write_cancel(view, invoice->record.id);
    }
}

// The payments of the job that no invoice has taken over.
static void write_paid_before(DwJobView *view)
{
    DwRecords payments = {0};
    dw_record_list(view->request->book, &dw_payment_entity, "job_id", view->job.record.id, &payments, NULL);
    for (size_t i = 0; i < payments.count; i++) {
        DwRecord *payment = dw_records_at(&payments, i);
        DwRecords self = {&dw_payment_entity, payment, 1};
        if (!((DwPayment *)payment)->invoice_id)
            dw_record_form_list(view->page, &self, "kind|amount|method|reference",
                                dw_record_form_opened(view->request, &dw_payment_entity), view->path);
    }
    dw_records_clear(&payments);
}

// What was paid before there is an invoice.
static void write_deposits(DwJobView *view)
{
    DwPayment payment;
    DwHtml *html = view->page->html;
    write_paid_before(view);
    dw_record_init(&payment.record, &dw_payment_entity);
    payment.job_id = view->job.record.id;
    payment.kind = DW_PAYMENT_DEPOSIT;
    dw_html_open(html, "details", "class", "add", NULL);
    dw_html_element(html, "summary", _("Note a deposit"), NULL);
    dw_record_form_add(view->page, &payment.record, "job_id", view->job.record.id,
                       "kind|amount|method|paid_on|reference", _("Write it down"));
    dw_html_close(html, "details");
    dw_record_clear(&payment.record);
}

static bool is_visit(const DwJobView *view)
{
    DwRecords jobs = {0};
    bool several = dw_visit_jobs(view->request->book, view->job.record.id, &jobs, NULL) == DW_OK && jobs.count > 1;
    dw_records_clear(&jobs);
    return several;
}

static void write_invoice(DwJobView *view, const DwInvoice *invoice)
{
    const DwWebRequest *request = view->request;
    DwHtml *html = view->page->html;
    int64_t id = invoice->record.id;
    bool draft = invoice->state == DW_INVOICE_DRAFT;
    DwTotals totals = {0};
    dw_invoice_totals(request->book, id, &totals, NULL);
    dw_html_open(html, "h4", NULL);
    if (draft)
        dw_html_text(html, _("A draft"));
    else
        write_number(html, invoice);
    dw_html_close(html, "h4");
    DwRecords self = {&dw_invoice_entity, (void *)invoice, 1};
    dw_record_form_list(view->page, &self, "customer_name|paid_on|warranty_until|words",
                        draft ? dw_record_form_opened(request, &dw_invoice_entity) : 0, draft ? view->path : NULL);
    if (!draft)
        dw_job_section_fold(view, NULL, _("Its lines"), "", false);
    dw_job_section_list(view, &dw_invoice_line_entity, "invoice_id", id,
                        "kind|minutes|quantity|price|amount|tax|tax_rate|job_id", !draft);
    if (!draft)
        dw_job_section_unfold(view);
    if (draft)
        dw_record_form_fold(view->page, &dw_invoice_line_entity, "invoice_id", id, NULL, _("Add a line"));
    if (draft && is_visit(view))
        write_act(view, "invoice-visit", "invoice", id, _("Add what was done on the decks that came in together"));
    begin_totals(view, _("Invoice"));
    write_totals_row(view, draft ? _("draft") : _("issued"), totals);
    end_totals(view);
    if (draft)
        write_act(view, "issue-invoice", "invoice", id, _("Issue it"));
    else if (!dw_invoice_is_credit(invoice))
        write_payments(view, invoice);
}

static void write_invoices(DwJobView *view, int64_t estimate)
{
    DwRecords records = {0};
    DwHtml *html = view->page->html;
    dw_html_element(html, "h3", _("Invoice"), "id", "invoice", NULL);
    dw_record_list(view->request->book, &dw_invoice_entity, "job_id", view->job.record.id, &records, NULL);
    for (size_t i = records.count; i > 0; i--)
        write_invoice(view, (const DwInvoice *)dw_records_at(&records, i - 1));
    write_deposits(view);
    dw_html_open(html, "details", "class", "add", NULL);
    dw_html_element(html, "summary", records.count ? _("Another invoice") : _("Start an invoice"), NULL);
    dw_job_section_form(view, "invoice");
    const char *shown[4] = {_("what was fitted and worked")}, *values[4] = {""};
    size_t count = 1;
    for (; estimate && count <= 3; count++) {
        shown[count] = dw_words(tiers[count - 1]);
        values[count] = tiers[count - 1];
    }
    dw_form_choice(view->page, "tier", _("With the lines of"), shown, values, count, estimate ? "recommended" : "",
                   NULL);
    dw_form_button(view->page, _("Start it"));
    dw_form_end(view->page);
    dw_html_close(html, "details");
    dw_records_clear(&records);
}

void dw_job_page_estimate(DwJobView *view)
{
    dw_job_section_begin(view, DW_STATION_ESTIMATE);
    write_estimates(view);
    write_consents(view, find_standing(view));
    dw_job_section_end(view);
}

void dw_job_page_invoices(DwJobView *view)
{
    write_invoices(view, find_standing(view));
}
