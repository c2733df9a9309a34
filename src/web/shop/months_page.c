// SPDX-License-Identifier: MIT
// What was invoiced and what came in, month by month, as tables for the book-keeping; and an invoice as an electronic
// one.
#include "base/text.h"
#include "book/money/month.h"
#include "book/money/ubl.h"
#include "web/page/page.h"
#include "web/server/words.h"
#include "web/shop/pages.h"

#include <stdlib.h>
#include <string.h>

// The text TEXT as a file called NAME to be kept. Takes ownership of TEXT.
static DwAnswer send_file(const char *type, const char *name, char *text)
{
    char *shown = dw_text_format("attachment; filename=\"%s\"", name);
    DwAnswer answer = dw_answer_bytes(type, text, strlen(text));
    dw_answer_tell(&answer, "Content-Disposition", shown);
    free(shown);
    return answer;
}

static void write_month(DwPage *page, const char *month)
{
    static const struct {
        const char *table, *words;
    } tables[] = {{"invoices", N_("Invoiced")}, {"payments", N_("Paid")}};
    DwHtml *html = page->html;
    dw_html_open(html, "li", "class", "month", NULL);
    dw_html_element(html, "strong", month, NULL);
    dw_html_open(html, "p", "class", "acts", NULL);
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
        char *path = dw_text_format("/shop/month/%s/%s", month, tables[i].table);
        char *words = dw_text_format(_("%s, %s (CSV)"), dw_words(tables[i].words), month);
        dw_html_element(html, "a", dw_words(tables[i].words), "aria-label", words, "href", path, "class",
                        "button second", NULL);
        free(path);
        free(words);
    }
    dw_html_close(html, "p");
    dw_html_close(html, "li");
}

static DwAnswer show_months(const DwWebRequest *request)
{
    enum { MONTHS = 24 };
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Months"), .room = DW_ROOM_SHOP, .style = "shop.css"});
    char today[DW_DATE_SIZE];
    dw_book_today(request->book, today);
    int year = (int)strtol(today, NULL, 10), month = (int)strtol(today + 5, NULL, 10);
    dw_html_element(page->html, "h1", _("Months"), NULL);
    dw_html_element(page->html, "p",
                    _("Tables for the book-keeping: a row for each rate of tax, credit notes below 0."), NULL);
    dw_html_open(page->html, "ul", "class", "cards", NULL);
    for (int i = 0; i < MONTHS; i++) {
        char *name = dw_text_format("%04d-%02d", year, month);
        write_month(page, name);
        free(name);
        year -= month == 1;
        month = month == 1 ? 12 : month - 1;
    }
    dw_html_close(page->html, "ul");
    return dw_page_end(page);
}

static DwAnswer send_month(const DwWebRequest *request)
{
    const char *month = dw_request_path(request, "month"), *table = dw_request_path(request, "table");
    DwMessage message;
    char *csv = NULL;
    DwStatus status;
    if (strcmp(table, "invoices") == 0)
        status = dw_month_invoices(request->book, month, &csv, &message);
    else if (strcmp(table, "payments") == 0)
        status = dw_month_payments(request->book, month, &csv, &message);
    else
        return dw_answer_refusal(404, _("There is no such table."));
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    char *name = dw_text_format("%s-%s.csv", month, table);
    DwAnswer answer = send_file("text/csv; charset=utf-8", name, csv);
    free(name);
    return answer;
}

static DwAnswer send_electronic(const DwWebRequest *request)
{
    DwInvoice invoice;
    DwMessage message;
    char *xml = NULL;
    dw_record_init(&invoice.record, &dw_invoice_entity);
    DwStatus status = dw_invoice_find(request->book, dw_request_path(request, "invoice"), &invoice, &message);
    if (status == DW_OK)
        status = dw_ubl_write(request->book, invoice.record.id, &xml, &message);
    char *number = dw_invoice_number(&invoice), *name = dw_text_format("invoice-%s.xml", number);
    DwAnswer answer = status == DW_OK ? send_file("application/xml", name, xml) : dw_answer_trouble(status, &message);
    free(name);
    free(number);
    dw_record_clear(&invoice.record);
    return answer;
}

const DwWebRoute dw_routes_months[] = {
    {"GET", "/shop/months", show_months, false},
    {"GET", "/shop/month/:month/:table", send_month, false},
    {"GET", "/shop/invoice/:invoice/electronic", send_electronic, false},
    {0},
};
