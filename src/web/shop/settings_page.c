// SPDX-License-Identifier: MIT
// The shop's settings: each is a small form of its own that is kept as it is
// changed, so that two screens never overwrite what the other did not show.
#include "base/memory.h"
#include "base/text.h"
#include "book/shop/logo.h"
#include "book/shop/settings.h"
#include "book/store/attachment.h"
#include "web/page/page.h"
#include "web/server/words.h"
#include "web/shop/pages.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// Settings whose keys begin alike stand together.
typedef struct {
    const char *beginning;
    const char *title;
} Group;

static const Group groups[] = {
    {"shop", N_("The shop, as its papers show it")},
    {"paper", N_("Papers")},
    {"money", N_("Prices and rates")},
    {"estimate", N_("Estimates")},
    {"warranty", N_("Warranty")},
    {"storage", N_("Storage")},
    {"service", N_("Service")},
    {"retention", N_("How long data is kept")},
};

static bool is_in(const DwSetting *setting, const char *beginning)
{
    size_t length = strlen(beginning);
    return strncmp(setting->field.key, beginning, length) == 0 && setting->field.key[length] == '.';
}

static bool is(const DwSetting *setting, const char *key)
{
    return strcmp(setting->field.key, key) == 0;
}

static bool is_long(const DwSetting *setting)
{
    static const char *const keys[] = {"shop.address", "shop.terms", "warranty.covers", "warranty.excludes"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        if (is(setting, keys[i]))
            return true;
    return false;
}

static const char *input_type(const DwSetting *setting)
{
    if (setting->field.kind == DW_FIELD_INTEGER)
        return "number";
    if (is(setting, "shop.email"))
        return "email";
    return is(setting, "shop.phone") ? "tel" : "text";
}

static void write_choice(DwPage *page, const DwField *field, const char *value)
{
    enum { MOST = 16 };
    char *words[MOST];
    const char *shown[MOST];
    size_t count = 0;
    for (; count < MOST && (words[count] = dw_field_word(field, (int)count)) && *words[count]; count++)
        shown[count] = dw_words(words[count]);
    dw_form_choice(page, "value", dw_words(field->label), shown, (const char *const *)words, count, value,
                   field->help ? dw_words(field->help) : NULL);
    for (size_t i = 0; i <= count && i < MOST; i++)
        free(words[i]);
}

// The form's way to a setting. The caller frees it with free().
static char *path_of(const DwSetting *setting)
{
    return dw_text_format("/shop/settings/%s", setting->field.key);
}

// A browser's colour field cannot be empty, so that taking the colour away is a form of its own.
static void write_colour(DwPage *page, const DwSetting *setting, const char *value)
{
    char *path = path_of(setting);
    dw_form_begin(page, path, true);
    dw_form_text(page, "value", dw_words(setting->field.label), *value ? value : "#000000", "color",
                 *value ? _("Of the papers' headings.") : _("Of the papers' headings; none is set, they are in ink."));
    dw_form_button(page, _("Keep"));
    dw_form_end(page);
    if (*value) {
        dw_form_begin(page, path, false);
        dw_html_void(page->html, "input", "type", "hidden", "name", "value", "value", "", NULL);
        dw_html_element(page->html, "button", _("Print without colour"), "type", "submit", "class", "second", NULL);
        dw_form_end(page);
    }
    free(path);
}

static void write_logo(DwPage *page, const DwSetting *setting, const char *value)
{
    DwHtml *html = page->html;
    char id[40];
    snprintf(id, sizeof id, "logo-%u", page->fields++);
    if (*value)
        dw_html_void(html, "img", "src", "/shop/logo", "alt", _("The logo on the papers"), "class", "logo", NULL);
    dw_form_begin_files(page, "/shop/logo");
    dw_html_open(html, "div", "class", "field", NULL);
    dw_html_element(html, "label", dw_words(setting->field.label), "for", id, NULL);
    dw_html_void(html, "input", "type", "file", "id", id, "name", "logo", "accept", "image/png,image/jpeg", NULL);
    dw_html_element(html, "small", _("PNG or JPEG, at the head of each paper."), NULL);
    dw_html_close(html, "div");
    dw_form_button(page, *value ? _("Send another logo") : _("Send the logo"));
    dw_form_end(page);
}

// A path is neither set from another device nor shown to it.
static void write_set_here(DwPage *page, const char *label, bool set)
{
    dw_html_open(page->html, "p", "class", "quiet", NULL);
    dw_html_format(page->html, "%s: %s", label,
                   set ? _("set at the bench computer itself.")
                       : _("not set; that is done at the bench computer itself."));
    dw_html_close(page->html, "p");
}

static void write_setting(DwPage *page, const DwSetting *setting)
{
    const DwField *field = &setting->field;
    const char *label = dw_words(field->label), *help = field->help ? dw_words(field->help) : NULL;
    char *value = dw_settings_text(page->request->book, field->key), *path = path_of(setting);
    if (is(setting, "shop.logo"))
        write_logo(page, setting, value);
    else if (is(setting, "shop.colour"))
        write_colour(page, setting, value);
    else if (field->kind == DW_FIELD_PATH && !page->request->local)
        write_set_here(page, label, *value);
    else {
        dw_form_begin(page, path, true);
        if (field->kind == DW_FIELD_CHOICE)
            write_choice(page, field, value);
        else if (is_long(setting))
            dw_form_area(page, "value", label, value, help);
        else
            dw_form_text(page, "value", label, value, input_type(setting), help);
        dw_form_button(page, _("Keep"));
        dw_form_end(page);
    }
    free(value);
    free(path);
}

// One group is open at a time, as the address says; each opens by a touch.
static void write_group(DwPage *page, const Group *group)
{
    const DwSetting *setting;
    const char *at = dw_request_query(page->request, "at");
    bool open = strcmp(*at ? at : groups[0].beginning, group->beginning) == 0;
    dw_html_open(page->html, "details", "id", group->beginning, "class", "group", "name", "settings", "open",
                 DW_HTML_IF(open), NULL);
    dw_html_open(page->html, "summary", NULL);
    dw_html_element(page->html, "h2", dw_words(group->title), NULL);
    dw_html_close(page->html, "summary");
    for (size_t i = 0; (setting = dw_settings_at(i)); i++)
        if (is_in(setting, group->beginning))
            write_setting(page, setting);
    dw_html_close(page->html, "details");
}

static DwAnswer show_settings(const DwWebRequest *request)
{
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Settings"), .room = DW_ROOM_SHOP, .style = "shop.css"});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("Settings"), NULL);
    dw_html_element(html, "p", _("Each is kept as soon as it was changed."), NULL);
    for (size_t i = 0; i < sizeof groups / sizeof *groups; i++)
        write_group(page, &groups[i]);
    return dw_page_end(page);
}

// Back to where it stands.
static DwAnswer answer_kept(const DwSetting *setting)
{
    size_t length = strcspn(setting->field.key, ".");
    char *place = is_in(setting, "backup") ? dw_memory_text("/shop/backup")
                                           : dw_text_format("/shop/settings?at=%.*s", (int)length, setting->field.key);
    DwAnswer answer = dw_answer_kept(_("Kept."), place);
    free(place);
    return answer;
}

static DwAnswer keep_setting(const DwWebRequest *request)
{
    const DwSetting *setting = dw_settings_find(dw_request_path(request, "key"));
    DwMessage message;
    if (!setting || !dw_request_sent(request, "value"))
        return dw_answer_refusal(400, _("There is no such setting. Nothing was changed."));
    DwStatus status = dw_settings_set(request->book, setting->field.key, dw_request_field(request, "value"), &message);
    if (status == DW_OK)
        return answer_kept(setting);
    return dw_answer_trouble(status, &message);
}

static DwAnswer take_logo(const DwWebRequest *request)
{
    DwAnswer answer;
    DwSentFile file;
    const DwContent *content;
    DwMessage message;
    if (!dw_request_file_of(request, "logo", DW_CONTENT_PICTURE, &file, &content, &answer))
        return answer;
    if (strcmp(content->media, "image/png") != 0 && strcmp(content->media, "image/jpeg") != 0)
        return dw_answer_refusal(415, _("The logo is to be a PNG or a JPEG. Nothing was changed."));
    DwStatus status = dw_logo_set(request->book, file.path, _("Logo of the shop"), &message);
    if (status == DW_OK)
        return dw_answer_kept(_("The logo is kept."), "/shop/settings");
    return dw_answer_trouble(status, &message);
}

static DwAnswer send_logo(const DwWebRequest *request)
{
    DwAnswer answer;
    DwAttachment logo;
    dw_record_init(&logo.record, &dw_attachment_entity);
    bool found = dw_logo_find(request->book, &logo);
    char *path = found ? dw_attachment_path(request->book, &logo) : dw_settings_text(request->book, "shop.logo");
    const DwContent *content = dw_content_of_file(path);
    char *bytes = NULL;
    size_t length = 0;
    if (content && content->kind == DW_CONTENT_PICTURE)
        bytes = dw_request_read(path, &length);
    if (bytes)
        answer = dw_answer_bytes(content->media, bytes, length);
    else
        answer = dw_answer_refusal(404, _("There is no logo, or it cannot be read."));
    free(path);
    dw_record_clear(&logo.record);
    return answer;
}

const DwWebRoute dw_routes_settings[] = {
    {"GET", "/shop/settings", show_settings, .open = false},
    {"POST", "/shop/settings/:key", keep_setting, .open = false},
    {"GET", "/shop/logo", send_logo, .open = false},
    {"POST", "/shop/logo", take_logo, .open = false},
    {0},
};
