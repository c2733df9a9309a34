// SPDX-License-Identifier: MIT
// A person's data: given to them as files, or erased for good.
#include "base/memory.h"
#include "base/text.h"
#include "book/care/erase.h"
#include "book/care/export.h"
#include "book/entry/entry.h"
#include "book/shop/customer.h"
#include "web/page/page.h"
#include "web/record/pages.h"
#include "web/server/words.h"

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static bool load(const DwWebRequest *request, DwCustomer *customer, DwAnswer *refusal)
{
    DwMessage message;
    dw_record_init(&customer->record, &dw_customer_entity);
    if (dw_record_load(request->book, &customer->record, dw_request_id(request, "id"), &message) == DW_OK)
        return true;
    *refusal = dw_answer_refusal(404, message.text);
    return false;
}

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *walk)
{
    (void)status;
    (void)kind;
    (void)walk;
    return remove(path);
}

// What the export's file of the table KIND is called, or the whole as JSON; NULL for no table of the book.
static char *export_file(const char *kind)
{
    if (!*kind)
        return dw_memory_text("export.json");
    const DwEntity *entity = dw_entity_find(kind);
    return entity ? dw_text_format("%s.csv", entity->name) : NULL;
}

// The export is written into a folder of its own, of which FILE is read. NULL with the message set when it fails.
static char *read_export(const DwWebRequest *request, int64_t customer, const char *file, size_t *length,
                         DwMessage *message)
{
    char *folder = dw_text_format("%s/incoming/export-XXXXXX", dw_book_folder(request->book));
    char *path = NULL, *bytes = NULL;
    DwProblems problems = {0}; // of attachments, which no file that is sent holds
    DwStatus status = mkdtemp(folder) ? dw_export_write(request->book, customer, folder, &problems, message)
                                      : dw_fail(message, DW_FAILED, "The book's disk cannot be written.");
    if (status == DW_OK) {
        path = dw_text_format("%s/%s", folder, file);
        bytes = dw_request_read(path, length);
        if (!bytes)
            dw_fail(message, DW_FAILED, "The book holds no such table of this person.");
    }
    nftw(folder, remove_entry, 16, FTW_DEPTH | FTW_PHYS);
    dw_problems_clear(&problems);
    free(path);
    free(folder);
    return bytes;
}

static DwAnswer send_export(const DwWebRequest *request)
{
    DwAnswer answer;
    DwCustomer customer;
    char *file = export_file(dw_request_query(request, "kind"));
    if (!file)
        return dw_answer_refusal(404, _("The book keeps nothing of that name."));
    if (load(request, &customer, &answer)) {
        DwMessage message = {""};
        size_t length = 0;
        char *bytes = read_export(request, customer.record.id, file, &length, &message);
        char *header = dw_text_format("attachment; filename=\"%s\"", file);
        if (bytes) {
            answer =
                dw_answer_bytes(strstr(file, ".csv") ? "text/csv; charset=utf-8" : "application/json", bytes, length);
            dw_answer_tell(&answer, "Content-Disposition", header);
        } else
            answer = dw_answer_trouble(DW_FAILED, &message);
        free(header);
        dw_record_clear(&customer.record);
    }
    free(file);
    return answer;
}

// One table of the person as a spreadsheet reads it, or the whole as one file.
static void write_giving(DwPage *page, const char *action)
{
    const char *words[80] = {_("all, as JSON")}, *values[80] = {""};
    const DwEntity *entity;
    size_t count = 1;
    for (size_t i = 0; count < 80 && (entity = dw_entity_at(i)); i++)
        if (entity->of_customer) {
            words[count] = dw_words(dw_entry_plural(entity));
            values[count++] = entity->name;
        }
    dw_html_open(page->html, "form", "method", "get", "action", action, NULL);
    dw_form_choice(page, "kind", _("What"), words, values, count, "", _("A single table is given as CSV."));
    dw_form_button(page, _("Give it as a file"));
    dw_html_close(page->html, "form");
}

static DwAnswer show_data(const DwWebRequest *request)
{
    DwAnswer answer;
    DwCustomer customer;
    if (!load(request, &customer, &answer))
        return answer;
    char *base = dw_text_format("/customer/%lld", (long long)customer.record.id);
    char *place = dw_text_format("/book/customer/%lld", (long long)customer.record.id);
    char *export = dw_text_format("%s/export", base), *erase = dw_text_format("%s/erase", base);
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("Data"), .style = "job.css", .room = DW_ROOM_BOOK});
    DwHtml *html = page->html;
    dw_html_element(html, "a", customer.name, "href", place, "class", "back", NULL);
    dw_html_element(html, "h1", _("What the book holds of this person"), NULL);
    dw_html_element(html, "p", _("All that names this person, their decks, jobs, papers and measurements."), NULL);
    write_giving(page, export);
    dw_html_element(html, "h2", _("Erase"), NULL);
    dw_html_element(
        html, "p",
        _("Blanks everything personal, in the journal too, and removes signatures and pictures of persons or "
          "homes. The deck's history stays. Invoices keep the name as long as the law asks. Copies made "
          "before still hold the data. This cannot be undone."),
        NULL);
    dw_html_element(html, "a", _("Erase this person …"), "href", erase, "class", "button second", NULL);
    answer = dw_page_end(page);
    free(base);
    free(place);
    free(export);
    free(erase);
    dw_record_clear(&customer.record);
    return answer;
}

static DwAnswer ask_erasure(const DwWebRequest *request)
{
    DwAnswer answer;
    DwCustomer customer;
    if (!load(request, &customer, &answer))
        return answer;
    char *data = dw_text_format("/customer/%lld/data", (long long)customer.record.id);
    char *action = dw_text_format("/customer/%lld/erase", (long long)customer.record.id);
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("Erase"), .style = "job.css", .room = DW_ROOM_BOOK});
    DwHtml *html = page->html;
    dw_html_open(html, "h1", NULL);
    dw_html_format(html, _("Erase %s?"), customer.name);
    dw_html_close(html, "h1");
    dw_page_caution(page, _("What is erased cannot be brought back, not by the journal either."));
    dw_form_begin(page, action, false);
    dw_form_text(page, "name", _("Type the name to be sure"), "", "text", NULL);
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_html_element(html, "button", _("Erase for good"), "type", "submit", "class", "danger", NULL);
    dw_html_element(html, "a", _("Leave it"), "href", data, "class", "button second", NULL);
    dw_html_close(html, "div");
    dw_form_end(page);
    answer = dw_page_end(page);
    free(data);
    free(action);
    dw_record_clear(&customer.record);
    return answer;
}

// Where else the person stood.
static void write_traces(DwPage *page, const DwErasure *erasure)
{
    DwHtml *html = page->html;
    if (!erasure->trace_count)
        return;
    dw_html_element(html, "h2", _("Elsewhere in the book"), NULL);
    dw_html_open(html, "ul", NULL);
    for (size_t i = 0; i < erasure->trace_count; i++) {
        const DwErasureTrace *trace = &erasure->traces[i];
        dw_html_open(html, "li", NULL);
        dw_html_format(html,
                       trace->erased ? _("%s, number %lld: “%s” held the erased “%s”, which is erased there too.")
                                     : _("%s, number %lld: “%s” still holds the erased “%s”. Take it out there."),
                       dw_words(trace->entity->label), (long long)trace->id, dw_words(trace->field->label),
                       dw_words(trace->what->label));
        dw_html_close(html, "li");
    }
    dw_html_close(html, "ul");
}

static DwAnswer show_erased(const DwWebRequest *request, const DwErasure *erasure)
{
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Erased"), .style = "job.css", .room = DW_ROOM_BOOK});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("Erased"), NULL);
    dw_html_open(html, "p", NULL);
    dw_html_format(
        html,
        dw_words_count("%zu picture or file was removed.", "%zu pictures or files were removed.", erasure->attachments),
        erasure->attachments);
    dw_html_close(html, "p");
    if (erasure->invoices) {
        dw_html_open(html, "p", NULL);
        dw_html_format(html, _("%zu invoices keep the name for the law's sake. Erase again after %s."),
                       erasure->invoices, erasure->keep_until);
        dw_html_close(html, "p");
    }
    write_traces(page, erasure);
    dw_page_link(page, "/book/customer", _("To the customers"));
    return dw_page_end(page);
}

static DwAnswer erase(const DwWebRequest *request)
{
    DwAnswer answer;
    DwCustomer customer;
    if (!load(request, &customer, &answer))
        return answer;
    DwErasure erasure = {0};
    DwMessage message;
    if (strcmp(dw_request_field(request, "name"), customer.name) != 0)
        answer = dw_answer_refusal(400, _("The name typed is not this person's. Nothing was erased."));
    else {
        DwStatus status = dw_erase_customer(request->book, customer.record.id, &erasure, &message);
        if (status == DW_OK)
            answer = show_erased(request, &erasure);
        else
            answer = dw_answer_trouble(status, &message);
        dw_erasure_clear(&erasure);
    }
    dw_record_clear(&customer.record);
    return answer;
}

const DwWebRoute dw_routes_customer[] = {
    {"GET", "/customer/:id/data", show_data, false},
    {"GET", "/customer/:id/export", send_export, false},
    {"GET", "/customer/:id/erase", ask_erasure, false},
    {"POST", "/customer/:id/erase", erase, false},
    {0},
};
