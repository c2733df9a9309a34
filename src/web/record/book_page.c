// SPDX-License-Identifier: MIT
// The book's own pages: what it keeps, each kind as a list and each record as a
// form with all that refers to it.
#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/entry/entry.h"
#include "book/entry/twin.h"
#include "book/model/known.h"
#include "book/model/model.h"
#include "book/shop/arm.h"
#include "book/shop/cartridge.h"
#include "book/shop/customer.h"
#include "book/shop/deck.h"
#include "book/shop/register.h"
#include "book/shop/stock.h"
#include "book/store/bound.h"
#include "web/page/page.h"
#include "web/record/pages.h"
#include "web/record/record_form.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

// The shelves of the book, in the order in which they are wanted.
static const struct {
    const DwEntity *entity;
    const char *words, *add;
    const char *columns; // shown in its list
} shelves[] = {
    {&dw_customer_entity, N_("Customers"), N_("New customer"), "phone|email"},
    {&dw_deck_entity, N_("Decks"), N_("New deck"), "drive|class|speeds"},
    {&dw_model_entity, N_("Models of decks"), N_("New model"), "drive|class|speeds"},
    {&dw_arm_entity, N_("Arms"), N_("New arm"), "deck_id|pivot_to_spindle_mm|effective_length_mm"},
    {&dw_cartridge_entity, N_("Cartridges"), N_("New cartridge"), "deck_id|kind|force_low_mn|force_high_mn"},
    {&dw_stylus_entity, N_("Styli"), N_("New stylus"), "cartridge_id|hours|rated_hours|grade"},
    {&dw_stock_entity, N_("Stock"), N_("New item of stock"), "kind|inner_length_mm|on_hand|shelf|price"},
    {&dw_test_record_entity, N_("Test records"), N_("New test record"), "title|plays|eccentricity_mm"},
    {&dw_instrument_entity, N_("Instruments"), N_("New instrument"), "kind|serial|check_days"},
    {&dw_chain_entity, N_("Recording chains"), N_("New recording chain"), "preamplifier|interface|checked_on"},
    {&dw_bound_entity, N_("The shop's own limits"), N_("New limit"), "key|low|high|source"},
};
enum { SHELVES = sizeof shelves / sizeof *shelves, MOST_LISTED = 200, MOST_HANGING = 25, UNFOLDED_MOST = 5 };

static int shelf_of(const DwEntity *entity)
{
    for (int i = 0; i < SHELVES; i++)
        if (shelves[i].entity == entity)
            return i;
    return -1;
}

static void write_shelf(DwPage *page, size_t shelf)
{
    char *path = dw_text_format("/book/%s", shelves[shelf].entity->name);
    dw_html_open(page->html, "li", NULL);
    dw_html_open(page->html, "a", "href", path, "class", "card", NULL);
    dw_html_element(page->html, "strong", dw_words(shelves[shelf].words), NULL);
    dw_html_close(page->html, "a");
    dw_html_close(page->html, "li");
    free(path);
}

static DwAnswer show_book(const DwWebRequest *request)
{
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("Book"), .style = "job.css", .room = DW_ROOM_BOOK});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("The book"), NULL);
    dw_html_open(html, "ul", "class", "cards shelves", NULL);
    for (size_t i = 0; i < SHELVES; i++)
        write_shelf(page, i);
    dw_html_close(html, "ul");
    dw_html_element(html, "h2", _("At the shelf"), NULL);
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_page_link(page, "/book/belts", _("Find a belt by its length"));
    dw_page_link(page, "/book/due", _("What is due"));
    dw_html_close(html, "div");
    return dw_page_end(page);
}

static void write_listed(DwPage *page, const DwRecord *record, const char *columns)
{
    DwHtml *html = page->html;
    char *path = dw_text_format("/book/%s/%lld", record->entity->name, (long long)record->id);
    char *title = dw_record_by_label(dw_entry_title(page->request->book, record));
    dw_html_open(html, "li", NULL);
    dw_html_open(html, "a", "href", path, "class", "card", NULL);
    dw_html_element(html, "strong", title, NULL);
    dw_html_open(html, "span", "class", "values quiet", NULL);
    dw_record_form_columns(page, record, columns);
    dw_html_close(html, "span");
    dw_html_close(html, "a");
    dw_html_close(html, "li");
    free(path);
    free(title);
}

// Newest first: of many, the newest are shown, the rest is found by its name.
static void write_list(DwPage *page, const DwRecords *records, const char *columns)
{
    dw_html_open(page->html, "ul", "class", "cards", NULL);
    for (size_t i = records->count; i > 0 && records->count - i < MOST_LISTED; i--)
        write_listed(page, dw_records_at(records, i - 1), columns);
    dw_html_close(page->html, "ul");
    if (records->count > MOST_LISTED)
        dw_html_element(page->html, "p", _("These are the newest. Find the others by name, serial or number above."),
                        "class", "quiet", NULL);
    if (records->count == 0)
        dw_html_element(page->html, "p", _("None yet."), "class", "quiet", NULL);
}

static DwAnswer show_list(const DwWebRequest *request)
{
    const DwEntity *entity = dw_entity_find(dw_request_path(request, "entity"));
    int shelf = entity ? shelf_of(entity) : -1;
    if (shelf < 0)
        return dw_answer_refusal(404, _("The book has no such shelf."));
    DwRecords records;
    DwMessage message;
    DwStatus status = dw_record_newest(request->book, entity, NULL, 0, MOST_LISTED + 1, &records, &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    const char *words = dw_words(shelves[shelf].words);
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = words, .style = "job.css", .room = DW_ROOM_BOOK});
    DwHtml *html = page->html;
    dw_html_element(html, "a", _("The book"), "href", "/book", "class", "back", NULL);
    dw_html_element(html, "h1", words, NULL);
    dw_record_form_fold(page, entity, NULL, 0, NULL, dw_words(shelves[shelf].add));
    write_list(page, &records, shelves[shelf].columns);
    dw_records_clear(&records);
    return dw_page_end(page);
}

// The field by which records of ENTITY hang on those of OWNER; NULL when they do not.
static const DwField *reference_to(const DwEntity *entity, const DwEntity *owner)
{
    for (size_t i = 0; i < entity->field_count; i++)
        if (entity->fields[i].refers && strcmp(entity->fields[i].refers, owner->name) == 0)
            return &entity->fields[i];
    return NULL;
}

// The records of a kind that hang on another: many are folded to their count until one of them is OPENED.
static void write_entries(DwPage *page, const DwRecords *records, int64_t opened, const char *path)
{
    bool folded = records->count > UNFOLDED_MOST;
    if (folded) {
        dw_html_open(page->html, "details", "class", "hanging", "open", DW_HTML_IF(opened != 0), NULL);
        dw_html_open(page->html, "summary", NULL);
        dw_html_format(page->html, _("All %zu of them"), records->count);
        dw_html_close(page->html, "summary");
    }
    dw_record_form_list(page, records, NULL, opened, path);
    if (folded)
        dw_html_close(page->html, "details");
}

// What refers to RECORD, kind by kind, and a form to add more where a person does.
static void write_hanging(DwPage *page, const DwRecord *record, const char *path)
{
    const DwEntity *entity;
    for (size_t i = 0; (entity = dw_entity_at(i)); i++) {
        const DwField *field = reference_to(entity, record->entity);
        DwRecords records = {0};
        if (!field || dw_record_newest(page->request->book, entity, field->key, record->id, MOST_HANGING, &records,
                                       NULL) != DW_OK)
            continue;
        bool job = dw_field_find(entity, "job_id") || strcmp(entity->name, "job") == 0;
        bool added = dw_entry_is_added(entity) && !job;
        if (records.count || added)
            dw_html_element(page->html, "h2", dw_words(dw_entry_plural(entity)), NULL);
        if (job || shelf_of(entity) >= 0)
            dw_record_form_links(page, &records);
        else
            write_entries(page, &records, dw_record_form_opened(page->request, entity), path);
        if (records.count == MOST_HANGING)
            dw_html_element(page->html, "p", _("These are the newest."), "class", "quiet", NULL);
        if (added)
            dw_record_form_fold(page, entity, field->key, record->id, NULL, _("Add"));
        dw_records_clear(&records);
    }
}

// Which others may be the same person or deck, each with a form that makes them one.
static void write_twins(DwPage *page, const DwRecord *record)
{
    DwRecords twins;
    DwHtml *html = page->html;
    if (dw_twin_find(page->request->book, record, &twins, NULL) != DW_OK)
        return;
    for (size_t i = 0; i < twins.count; i++) {
        const DwRecord *twin = dw_records_at(&twins, i);
        char *title = dw_entry_title(page->request->book, twin), *into = dw_text_format("%lld", (long long)twin->id);
        char *path = dw_text_format("/book/%s/%s", record->entity->name, into);
        char *action = dw_text_format("/record/%s/%lld/merge", record->entity->name, (long long)record->id);
        dw_html_open(html, "p", "class", "caution", NULL);
        dw_html_text(html, _("Is it the same as this one?"));
        dw_html_text(html, " ");
        dw_html_element(html, "a", title, "href", path, NULL);
        dw_html_close(html, "p");
        dw_form_begin(page, action, false);
        dw_html_void(html, "input", "type", "hidden", "name", "into", "value", into, NULL);
        dw_form_button(page, _("Make them one"));
        dw_form_end(page);
        free(title);
        free(into);
        free(path);
        free(action);
    }
    dw_records_clear(&twins);
}

static void write_known_of(DwPage *page, const DwModelKnowns *knowns, DwModelAbout about, const char *title)
{
    DwHtml *html = page->html;
    bool any = false;
    for (size_t i = 0; i < knowns->count; i++) {
        const DwModelKnown *known = &knowns->items[i];
        if (known->origin == DW_MODEL_STATED || known->about != about)
            continue;
        if (!any) {
            dw_html_element(html, "h2", title, NULL);
            dw_html_open(html, "ul", "class", "cards", NULL);
        }
        any = true;
        char *origin = dw_model_known_origin(known, dw_tongue_of_program());
        dw_html_open(html, "li", NULL);
        dw_html_element(html, "strong", known->label, NULL);
        dw_html_format(html, " %s ", known->value);
        dw_html_element(html, "span", origin, "class", "quiet", NULL);
        dw_html_close(html, "li");
        free(origin);
    }
    if (any)
        dw_html_close(html, "ul");
}

// What the decks in the book told of the model, and what other shops shared; its own words stand in forms below.
static void write_known(DwPage *page, int64_t model)
{
    DwModelKnowns knowns;
    if (dw_model_known_read(page->request->book, model, &knowns, NULL) != DW_OK)
        return;
    write_known_of(page, &knowns, DW_MODEL_BUILD, _("How its decks are built"));
    write_known_of(page, &knowns, DW_MODEL_READING, _("What its decks measure as they leave"));
    dw_model_knowns_clear(&knowns);
}

// Leads from a deck to its model, where the library has it.
static void write_model_link(DwPage *page, int64_t deck)
{
    int64_t model = 0;
    if (dw_model_of_deck(page->request->book, deck, &model, NULL) != DW_OK || !model)
        return;
    char *path = dw_text_format("/book/model/%lld", (long long)model);
    dw_html_element(page->html, "a", _("What is known of its model"), "href", path, "class", "button second", NULL);
    free(path);
}

static DwAnswer write_record(const DwWebRequest *request, const DwRecord *record)
{
    int shelf = shelf_of(record->entity);
    char *title = dw_record_by_label(dw_entry_title(request->book, record));
    char *path = dw_text_format("/book/%s/%lld", record->entity->name, (long long)record->id);
    char *shelf_path = dw_text_format("/book/%s", record->entity->name);
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = title, .style = "job.css", .room = DW_ROOM_BOOK});
    DwHtml *html = page->html;
    if (shelf >= 0)
        dw_html_element(html, "a", dw_words(shelves[shelf].words), "href", shelf_path, "class", "back", NULL);
    dw_html_element(html, "h1", title, NULL);
    dw_record_form_change(page, record, NULL);
    dw_record_form_acts(page, record);
    write_twins(page, record);
    if (record->entity == &dw_customer_entity) {
        char *care = dw_text_format("/customer/%lld/data", (long long)record->id);
        dw_html_element(html, "a", _("This person's data: give or erase"), "href", care, "class", "button second",
                        NULL);
        free(care);
    }
    if (record->entity == &dw_deck_entity)
        write_model_link(page, record->id);
    if (record->entity == &dw_model_entity)
        write_known(page, record->id);
    write_hanging(page, record, path);
    DwAnswer answer = dw_page_end(page);
    free(title);
    free(path);
    free(shelf_path);
    return answer;
}

// What hangs on a job is changed on the job's page; all else has a page here.
static DwAnswer show_record(const DwWebRequest *request)
{
    DwAnswer answer;
    const DwEntity *entity = dw_entity_find(dw_request_path(request, "entity"));
    if (!entity)
        return dw_answer_refusal(404, _("The book keeps nothing of that name."));
    DwRecord *record = dw_record_new(entity);
    DwMessage message;
    if (dw_record_load(request->book, record, dw_request_id(request, "id"), &message) != DW_OK)
        answer = dw_answer_refusal(404, dw_message_said(&message));
    else {
        char *place = dw_record_form_place(request, record);
        if (strncmp(place, "/book/", 6) != 0)
            answer = dw_answer_go("%s?open=%s-%lld#%s-%lld", place, entity->name, (long long)record->id, entity->name,
                                  (long long)record->id);
        else
            answer = write_record(request, record);
        free(place);
    }
    dw_record_free(record);
    return answer;
}

const DwWebRoute dw_routes_book[] = {
    {"GET", "/book", show_book, false},
    {"GET", "/book/:entity", show_list, false},
    {"GET", "/book/:entity/:id", show_record, false},
    {0},
};
