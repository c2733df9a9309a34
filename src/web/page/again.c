// SPDX-License-Identifier: MIT
// A form that was refused, as it was filled: nothing has to be typed twice.
#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "book/shop/settings.h"
#include "book/store/record.h"
#include "web/page/page.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>

// What is typed into a field that no table of the book has.
static const struct {
    const char *name, *words;
} others[] = {
    {"why", N_("Why")},           {"label", N_("What was read")},
    {"value", N_("The reading")}, {"uncertainty", N_("Plus or minus")},
    {"folder", N_("Folder")},
};

// The field of the book called NAME: of the entity in the path, else of any in which it is typed.
static const DwField *field_called(const DwWebRequest *request, const char *name)
{
    const DwEntity *entity = dw_entity_find(dw_request_path(request, "entity"));
    const DwSetting *setting = dw_settings_find(name);
    if (entity || setting)
        return entity ? dw_field_find(entity, name) : &setting->field;
    for (size_t i = 0; (entity = dw_entity_at(i)); i++) {
        const DwField *field = dw_field_find(entity, name);
        if (field && !field->kept && field->kind == DW_FIELD_TEXT)
            return field;
    }
    return NULL;
}

static bool is_secret(const char *name, const DwField *field)
{
    return strstr(name, "password") || (field && field->secret);
}

// Of several values the last counts: a tick is sent behind its "no".
static bool is_last(const DwWebRequest *request, size_t index, const char *name)
{
    const char *other, *value;
    for (size_t i = index + 1; dw_request_field_at(request, i, &other, &value); i++)
        if (strcmp(other, name) == 0)
            return false;
    return true;
}

static void write_choice(DwPage *page, const DwField *field, const char *value)
{
    enum { MOST = 64 };
    const char *shown[MOST];
    char *words[MOST];
    size_t count = 0;
    while (count < MOST && *(words[count] = dw_field_word(field, (int)count))) {
        shown[count] = dw_words(words[count]);
        count++;
    }
    if (count < MOST)
        free(words[count]);
    dw_form_choice(page, field->key, dw_words(field->label), shown, (const char *const *)words, count, value, NULL);
    for (size_t i = 0; i < count; i++)
        free(words[i]);
}

static void write_field(DwPage *page, const DwField *field, const char *value)
{
    const char *label = dw_words(field->label);
    if (field->kind == DW_FIELD_CHOICE)
        write_choice(page, field, value);
    else if (field->kind == DW_FIELD_YES)
        dw_form_tick(page, field->key, label, strcmp(value, "yes") == 0);
    else if (field->lines)
        dw_form_area(page, field->key, label, value, NULL);
    else
        dw_form_text(page, field->key, label, value, "text", NULL); // as typed: a date's own control would drop it
}

// The label of NAME where a person typed it; NULL for what a page sends along.
static const char *label_of(const DwWebRequest *request, const char *name)
{
    const DwQuantity *quantity = dw_quantity_find(name);
    const DwSetting *setting = dw_settings_find(dw_request_path(request, "key"));
    if (setting && strcmp(name, "value") == 0)
        return dw_words(setting->field.label);
    if (quantity)
        return dw_words(quantity->label);
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        if (strcmp(others[i].name, name) == 0)
            return dw_words(others[i].words);
    return NULL;
}

static void write_one(DwPage *page, const char *name, const char *value)
{
    const DwField *field = field_called(page->request, name);
    const char *label = field ? NULL : label_of(page->request, name);
    if (is_secret(name, field))
        dw_form_text(page, name, _("Password"), "", "password", NULL);
    else if (field && field->kind != DW_FIELD_REFERENCE)
        write_field(page, field, value);
    else if (label)
        dw_form_text(page, name, label, value, "text", NULL);
    else
        dw_html_void(page->html, "input", "type", "hidden", "name", name, "value", value, NULL);
}

static bool carries_files(const DwWebRequest *request)
{
    return strncmp(dw_request_header(request, "Content-Type"), "multipart/", 10) == 0;
}

// A browser fills in no file: whatever was chosen is to be chosen again.
static void write_files(DwPage *page)
{
    static const char *const names[] = {"taken", "chosen", "logo"};
    DwSentFile file;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (!dw_request_file(page->request, names[i], &file))
            continue;
        char *label = dw_text_format(_("Choose it again: %s"), file.name);
        dw_html_open(page->html, "label", "class", "field", NULL);
        dw_html_text(page->html, label);
        dw_html_void(page->html, "input", "type", "file", "name", names[i], NULL);
        dw_html_close(page->html, "label");
        free(label);
    }
}

static bool is_of_frame(const char *name)
{
    return strcmp(name, "form_token") == 0 || strcmp(name, "once") == 0;
}

// Whether a person typed something into it, and its page was ours: a form of a stranger is not handed out with a token.
static bool is_typed(const DwWebRequest *request)
{
    const char *name, *value;
    bool ours = request->known && strcmp(dw_request_field(request, "form_token"), request->form_token) == 0;
    for (size_t i = 0; ours && dw_request_field_at(request, i, &name, &value); i++) {
        const DwField *field = is_of_frame(name) ? NULL : field_called(request, name);
        bool shown = field ? field->kind != DW_FIELD_REFERENCE : label_of(request, name) != NULL;
        if (*value && shown && !is_secret(name, field))
            return true;
    }
    return false;
}

bool dw_page_again(DwPage *page, const DwAnswer *refusal)
{
    const char *newer = dw_pairs_find(&refusal->headers, DW_NEWER_REVISION);
    const DwWebRequest *request = page->request;
    const char *name, *value;
    if (!is_typed(request))
        return false;
    dw_html_element(page->html, "p", _("What you typed is here still. Put it right and send it again."), NULL);
    if (newer)
        dw_html_element(page->html, "p", _("Sent again, it stands in place of what the other wrote."), NULL);
    dw_form_once_more(page);
    if (carries_files(request))
        dw_form_begin_files(page, request->path);
    else
        dw_form_begin(page, request->path, false);
    dw_html_open(page->html, "div", "class", "fields", NULL);
    for (size_t i = 0; dw_request_field_at(request, i, &name, &value); i++)
        if (!is_of_frame(name) && is_last(request, i, name))
            write_one(page, name, newer && strcmp(name, "revision") == 0 ? newer : value);
    write_files(page);
    dw_html_close(page->html, "div");
    dw_form_button(page, _("Send it again"));
    dw_form_end(page);
    return true;
}
