// SPDX-License-Identifier: MIT
// A person's data: given to them as files, or erased for good.
#include "base/memory.h"
#include "base/text.h"
#include "book/care/erase.h"
#include "book/care/export.h"
#include "book/shop/customer.h"
#include "book/entry/entry.h"
#include "web/page/page.h"
#include "web/server/private.h"
#include "web/page/words.h"

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static bool load(DwVisit *visit, DwCustomer *customer)
{
    DwMessage message;
    dw_record_init(&customer->record, &dw_customer_entity);
    if (dw_record_load(visit->book, &customer->record, dw_visit_id(visit, "id"), &message) == DW_OK)
        return true;
    dw_visit_refuse(visit, 404, message.text);
    return false;
}

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *walk)
{
    (void)status;
    (void)kind;
    (void)walk;
    return remove(path);
}

// The whole file at PATH, which the caller frees; NULL when it cannot be read.
static char *whole_file(const char *path, size_t *length)
{
    FILE *file = fopen(path, "re");
    if (!file)
        return NULL;
    char *bytes = NULL;
    size_t room = 0, got;
    *length = 0;
    do {
        room += 65536;
        bytes = dw_memory_resize(bytes, room, 1);
        got = fread(bytes + *length, 1, room - *length, file);
        *length += got;
    } while (got && *length == room);
    fclose(file);
    return bytes;
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
static char *read_export(DwVisit *visit, int64_t customer, const char *file, size_t *length, DwMessage *message)
{
    char *folder = dw_text_format("%s/incoming/export-XXXXXX", dw_book_folder(visit->book));
    char *path = NULL, *bytes = NULL;
    DwProblems problems = {0}; // of attachments, which no file that is sent holds
    DwStatus status = mkdtemp(folder) ? dw_export_write(visit->book, customer, folder, &problems, message)
                                      : dw_fail(message, DW_FAILED, "The book's disk cannot be written.");
    if (status == DW_OK) {
        path = dw_text_format("%s/%s", folder, file);
        bytes = whole_file(path, length);
        if (!bytes)
            dw_fail(message, DW_FAILED, "The book holds no such table of this person.");
    }
    nftw(folder, remove_entry, 16, FTW_DEPTH | FTW_PHYS);
    dw_problems_clear(&problems);
    free(path);
    free(folder);
    return bytes;
}

static void send_export(DwVisit *visit)
{
    DwCustomer customer;
    char *file = export_file(dw_visit_query(visit, "kind"));
    if (!file) {
        dw_visit_refuse(visit, 404, _("The book keeps nothing of that name."));
        return;
    }
    if (load(visit, &customer)) {
        DwMessage message = {""};
        size_t length = 0;
        char *bytes = read_export(visit, customer.record.id, file, &length, &message);
        char *header = dw_text_format("attachment; filename=\"%s\"", file);
        if (bytes) {
            dw_visit_tell(visit, "Content-Disposition", header);
            dw_visit_send(visit, strstr(file, ".csv") ? "text/csv; charset=utf-8" : "application/json", bytes, length);
        } else
            dw_visit_trouble(visit, DW_FAILED, &message);
        free(header);
        dw_record_clear(&customer.record);
    }
    free(file);
}

// One table of the person as a spreadsheet reads it, or the whole as one file.
static void write_giving(DwVisit *visit, const char *action)
{
    const char *words[80] = {_("all, as JSON")}, *values[80] = {""};
    const DwEntity *entity;
    size_t count = 1;
    for (size_t i = 0; count < 80 && (entity = dw_entity_at(i)); i++)
        if (entity->of_customer) {
            words[count] = dw_words(dw_entry_plural(entity));
            values[count++] = entity->name;
        }
    dw_html_open(visit->html, "form", "method", "get", "action", action, NULL);
    dw_form_choice(visit, "kind", _("What"), words, values, count, "", _("A single table is given as CSV."));
    dw_form_button(visit, _("Give it as a file"));
    dw_html_close(visit->html, "form");
}

static void show_data(DwVisit *visit)
{
    DwCustomer customer;
    if (!load(visit, &customer))
        return;
    char *base = dw_text_format("/customer/%lld", (long long)customer.record.id);
    char *page = dw_text_format("/book/customer/%lld", (long long)customer.record.id);
    char *export = dw_text_format("%s/export", base), *erase = dw_text_format("%s/erase", base);
    DwHtml *html = dw_page_begin(visit, &(DwPage){.title = _("Data"), .style = "job.css", .room = DW_ROOM_BOOK});
    dw_html_element(html, "a", customer.name, "href", page, "class", "back", NULL);
    dw_html_element(html, "h1", _("What the book holds of this person"), NULL);
    dw_html_element(html, "p", _("All that names this person, their decks, jobs, papers and measurements."), NULL);
    write_giving(visit, export);
    dw_html_element(html, "h2", _("Erase"), NULL);
    dw_html_element(
        html, "p",
        _("Blanks everything personal, in the journal too, and removes signatures and pictures of persons or "
          "homes. The deck's history stays. Invoices keep the name as long as the law asks. Copies made "
          "before still hold the data. This cannot be undone."),
        NULL);
    dw_html_element(html, "a", _("Erase this person …"), "href", erase, "class", "button second", NULL);
    dw_page_end(visit);
    free(base);
    free(page);
    free(export);
    free(erase);
    dw_record_clear(&customer.record);
}

static void ask_erasure(DwVisit *visit)
{
    DwCustomer customer;
    if (!load(visit, &customer))
        return;
    char *data = dw_text_format("/customer/%lld/data", (long long)customer.record.id);
    char *action = dw_text_format("/customer/%lld/erase", (long long)customer.record.id);
    DwHtml *html = dw_page_begin(visit, &(DwPage){.title = _("Erase"), .style = "job.css", .room = DW_ROOM_BOOK});
    dw_html_open(html, "h1", NULL);
    dw_html_format(html, _("Erase %s?"), customer.name);
    dw_html_close(html, "h1");
    dw_page_caution(visit, _("What is erased cannot be brought back, not by the journal either."));
    dw_form_begin(visit, action, false);
    dw_form_text(visit, "name", _("Type the name to be sure"), "", "text", NULL);
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_html_element(html, "button", _("Erase for good"), "type", "submit", "class", "danger", NULL);
    dw_html_element(html, "a", _("Leave it"), "href", data, "class", "button second", NULL);
    dw_html_close(html, "div");
    dw_form_end(visit);
    dw_page_end(visit);
    free(data);
    free(action);
    dw_record_clear(&customer.record);
}

static void show_erased(DwVisit *visit, const DwErasure *erasure)
{
    DwHtml *html = dw_page_begin(visit, &(DwPage){.title = _("Erased"), .style = "job.css", .room = DW_ROOM_BOOK});
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
    dw_page_link(visit, "/book/customer", _("To the customers"));
    dw_page_end(visit);
}

static void erase(DwVisit *visit)
{
    DwCustomer customer;
    if (!load(visit, &customer))
        return;
    DwErasure erasure = {0};
    DwMessage message;
    if (strcmp(dw_visit_field(visit, "name"), customer.name) != 0)
        dw_visit_refuse(visit, 400, _("The name typed is not this person's. Nothing was erased."));
    else {
        DwStatus status = dw_erase_customer(visit->book, customer.record.id, &erasure, &message);
        if (status == DW_OK)
            show_erased(visit, &erasure);
        else
            dw_visit_trouble(visit, status, &message);
    }
    dw_record_clear(&customer.record);
}

const DwWebRoute dw_routes_customer[] = {
    {"GET", "/customer/:id/data", show_data, false},
    {"GET", "/customer/:id/export", send_export, false},
    {"GET", "/customer/:id/erase", ask_erasure, false},
    {"POST", "/customer/:id/erase", erase, false},
    {0},
};
