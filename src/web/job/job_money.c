// SPDX-License-Identifier: MIT
// The job's page: estimates in versions and options, who agreed to what, and the
// invoices.
#include "base/text.h"
#include "book/money/consent.h"
#include "book/money/invoice.h"
#include "web/job/job_page.h"
#include "web/page/page.h"
#include "web/record/record_form.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

static const char *const tiers[] = {N_("minimum"), N_("recommended"), N_("full")};

static void write_money(DwJobPage *page, int64_t amount)
{
    char *text = dw_job_section_amount(page, amount);
    dw_html_element(page->request->html, "td", text, "class", "number", NULL);
    free(text);
}

static void write_totals_row(DwJobPage *page, const char *name, DwTotals totals)
{
    DwHtml *html = page->request->html;
    dw_html_open(html, "tr", NULL);
    dw_html_element(html, "th", name, "scope", "row", NULL);
    write_money(page, totals.net);
    write_money(page, totals.tax);
    write_money(page, totals.gross);
    dw_html_close(html, "tr");
}

static void begin_totals(DwJobPage *page, const char *first)
{
    DwHtml *html = page->request->html;
    const char *heads[] = {first, _("Net"), _("Tax"), _("Total")};
    dw_html_open(html, "div", "class", "scroll", "tabindex", "0", "role", "region", "aria-label", _("Totals"), NULL);
    dw_html_open(html, "table", "class", "totals", NULL);
    dw_html_open(html, "tr", NULL);
    for (size_t i = 0; i < 4; i++)
        dw_html_element(html, "th", heads[i], "scope", "col", "class", i ? "number" : DW_HTML_NONE, NULL);
    dw_html_close(html, "tr");
}

static void end_totals(DwJobPage *page)
{
    dw_html_close(page->request->html, "table");
    dw_html_close(page->request->html, "div");
}

static void write_options(DwJobPage *page, int64_t estimate)
{
    bool any_uneconomic = false;
    begin_totals(page, _("Option"));
    for (int tier = DW_TIER_MINIMUM; tier <= DW_TIER_FULL; tier++) {
        DwTotals totals = {0};
        bool uneconomic = false;
        dw_estimate_totals(page->request->book, estimate, (DwTier)tier, &totals, &uneconomic, NULL);
        write_totals_row(page, dw_words(tiers[tier]), totals);
        any_uneconomic = any_uneconomic || uneconomic;
    }
    end_totals(page);
    if (any_uneconomic)
        dw_page_remark(page->request,
                       _("An option costs more than the shop's share of what an equivalent working deck costs. "
                         "Say so before the owner decides."));
}

// One act of the job as a form with a single button, which sends ID as NAME.
static void write_act(DwJobPage *page, const char *act, const char *name, int64_t id, const char *words)
{
    char *text = dw_text_format("%lld", (long long)id);
    dw_job_section_form(page, act);
    dw_html_void(page->request->html, "input", "type", "hidden", "name", name, "value", text, NULL);
    dw_form_button(page->request, words);
    dw_form_end(page->request);
    free(text);
}

static void write_estimate(DwJobPage *page, const DwEstimate *estimate)
{
    DwWebRequest *request = page->request;
    DwHtml *html = request->html;
    int64_t id = estimate->record.id;
    char *state = dw_field_word(dw_field_find(&dw_estimate_entity, "state"), estimate->state);
    dw_html_open(html, "h3", NULL);
    dw_html_format(html, _("Version %lld, %s"), (long long)estimate->version, dw_words(state));
    dw_html_close(html, "h3");
    DwRecords self = {&dw_estimate_entity, (void *)estimate, 1};
    bool draft = estimate->state == DW_ESTIMATE_DRAFT;
    dw_record_form_list(request, &self, "issued_on|valid_until|tax_rate|ceiling|replacement_value|words",
                        draft ? dw_record_form_opened(request, &dw_estimate_entity) : 0, draft ? page->path : NULL);
    dw_job_section_list(page, &dw_estimate_line_entity, "estimate_id", id, "tier|kind|minutes|quantity|price|amount",
                        !draft);
    if (draft)
        dw_record_form_fold(request, &dw_estimate_line_entity, "estimate_id", id, NULL, _("Add a line"));
    write_options(page, id);
    if (draft)
        write_act(page, "issue-estimate", "estimate", id, _("Give it out"));
    free(state);
}

// The newest version first and whole; those before are folded.
static int64_t write_estimates(DwJobPage *page)
{
    DwRecords records = {0};
    DwHtml *html = page->request->html;
    int64_t open = 0;
    dw_record_list(page->request->book, &dw_estimate_entity, "job_id", page->job.record.id, &records, NULL);
    for (size_t i = records.count; i > 0; i--) {
        const DwEstimate *estimate = (const DwEstimate *)dw_records_at(&records, i - 1);
        if (i == records.count - 1) {
            dw_html_open(html, "details", "class", "add", NULL);
            dw_html_element(html, "summary", _("Earlier versions"), NULL);
        }
        if (!open && (estimate->state == DW_ESTIMATE_ISSUED || estimate->state == DW_ESTIMATE_ACCEPTED))
            open = estimate->record.id;
        write_estimate(page, estimate);
    }
    if (records.count > 1)
        dw_html_close(html, "details");
    write_act(page, "estimate", "job", page->job.record.id,
              records.count ? _("Start another version") : _("Start an estimate"));
    dw_records_clear(&records);
    return open;
}

static void write_consents(DwJobPage *page, int64_t estimate)
{
    DwWebRequest *request = page->request;
    DwHtml *html = request->html;
    int64_t agreed = DW_AMOUNT_NONE;
    DwConsent consent;
    dw_consent_agreed(request->book, page->job.record.id, &agreed, NULL);
    char *amount = dw_job_section_amount(page, agreed);
    dw_html_element(html, "h3", _("What was agreed to"), NULL);
    dw_html_open(html, "p", NULL);
    dw_html_format(html, _("May be billed without asking again: %s"), amount);
    dw_html_close(html, "p");
    dw_job_section_list(page, &dw_consent_entity, "job_id", page->job.record.id, "at|tier|amount|how|contact|words|who",
                        false);
    dw_record_init(&consent.record, &dw_consent_entity);
    consent.job_id = page->job.record.id;
    consent.estimate_id = estimate;
    consent.tier = DW_TIER_RECOMMENDED;
    dw_record_set(request->book, &consent.record, "person", page->owner.name ? page->owner.name : "", NULL);
    dw_html_open(html, "details", "class", "add", NULL);
    dw_html_element(html, "summary", _("Write down an answer"), NULL);
    dw_record_form_add(request, &consent.record, "job_id", page->job.record.id,
                       "answer|tier|estimate_id|amount|person|how|contact|words", _("Write it down"));
    dw_html_close(html, "details");
    dw_record_clear(&consent.record);
    free(amount);
}

static void write_invoice(DwJobPage *page, const DwInvoice *invoice)
{
    DwWebRequest *request = page->request;
    DwHtml *html = request->html;
    int64_t id = invoice->record.id;
    bool draft = invoice->state == DW_INVOICE_DRAFT;
    DwTotals totals = {0};
    dw_invoice_totals(request->book, id, &totals, NULL);
    dw_html_open(html, "h4", NULL);
    if (draft)
        dw_html_text(html, _("A draft"));
    else
        dw_html_format(html, _("Number %lld, issued on %s"), (long long)invoice->number, invoice->issued_on);
    dw_html_close(html, "h4");
    DwRecords self = {&dw_invoice_entity, (void *)invoice, 1};
    dw_record_form_list(request, &self, "customer_name|paid_on|warranty_until|words",
                        draft ? dw_record_form_opened(request, &dw_invoice_entity) : 0, draft ? page->path : NULL);
    dw_job_section_list(page, &dw_invoice_line_entity, "invoice_id", id, "kind|minutes|quantity|price|amount", !draft);
    if (draft)
        dw_record_form_fold(request, &dw_invoice_line_entity, "invoice_id", id, NULL, _("Add a line"));
    begin_totals(page, _("Invoice"));
    write_totals_row(page, draft ? _("draft") : _("issued"), totals);
    end_totals(page);
    if (draft)
        write_act(page, "issue-invoice", "invoice", id, _("Issue it"));
    else if (!invoice->paid_on)
        write_act(page, "pay", "invoice", id, _("It is paid"));
}

static void write_invoices(DwJobPage *page, int64_t estimate)
{
    DwRecords records = {0};
    DwHtml *html = page->request->html;
    dw_html_element(html, "h3", _("Invoice"), "id", "invoice", NULL);
    dw_record_list(page->request->book, &dw_invoice_entity, "job_id", page->job.record.id, &records, NULL);
    for (size_t i = records.count; i > 0; i--)
        write_invoice(page, (const DwInvoice *)dw_records_at(&records, i - 1));
    dw_html_open(html, "details", "class", "add", NULL);
    dw_html_element(html, "summary", records.count ? _("Another invoice") : _("Start an invoice"), NULL);
    dw_job_section_form(page, "invoice");
    const char *shown[4] = {_("what was fitted and worked")}, *values[4] = {""};
    size_t count = 1;
    for (; estimate && count <= 3; count++) {
        shown[count] = dw_words(tiers[count - 1]);
        values[count] = tiers[count - 1];
    }
    dw_form_choice(page->request, "tier", _("With the lines of"), shown, values, count, estimate ? "recommended" : "",
                   NULL);
    dw_form_button(page->request, _("Start it"));
    dw_form_end(page->request);
    dw_html_close(html, "details");
    dw_records_clear(&records);
}

void dw_job_page_estimate(DwJobPage *page)
{
    dw_job_section_begin(page, DW_STATION_ESTIMATE);
    int64_t open = write_estimates(page);
    write_consents(page, open);
    write_invoices(page, open);
    dw_job_section_end(page);
}
