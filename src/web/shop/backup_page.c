// SPDX-License-Identifier: MIT
// Copies of the book on another disk, and the book's own check.
#include "base/text.h"
#include "book/care/backup.h"
#include "book/care/check.h"
#include "book/shop/settings.h"
#include "web/page/page.h"
#include "web/server/words.h"
#include "web/shop/pages.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

// When the backup in FOLDER was last written, and its size.
static void write_last(DwPage *page, const char *folder)
{
    DwHtml *html = page->html;
    char *path = dw_text_format("%s/backup.sqlite", folder), when[40];
    struct stat file;
    struct tm parts;
    dw_html_open(html, "dl", "class", "facts", NULL);
    if (page->request->local) {
        dw_html_element(html, "dt", _("Folder"), NULL);
        dw_html_element(html, "dd", folder, "class", "address", NULL);
    }
    dw_html_element(html, "dt", _("Last backup"), NULL);
    if (stat(path, &file) == 0 && localtime_r(&file.st_mtime, &parts)) {
        strftime(when, sizeof when, "%Y-%m-%d %H:%M", &parts);
        dw_html_element(html, "dd", when, "class", "number", NULL);
    } else
        dw_html_element(html, "dd", _("none in this folder, or the disk is not there"), NULL);
    dw_html_close(html, "dl");
    free(path);
}

static void write_folder_form(DwPage *page, const char *folder)
{
    const DwField *field = &dw_settings_find("backup.folder")->field;
    if (!page->request->local) {
        dw_html_element(page->html, "p", _("The folder is chosen at the bench computer itself."), "class", "quiet",
                        NULL);
        return;
    }
    dw_form_begin(page, "/shop/settings/backup.folder", false);
    dw_form_text(page, "value", dw_words(field->label), folder, "text", dw_words(field->help));
    dw_html_element(page->html, "button", _("Keep the folder"), "type", "submit", "class", "second", NULL);
    dw_form_end(page);
}

static void write_check_form(DwPage *page)
{
    dw_html_element(page->html, "h2", _("Check the book"), NULL);
    dw_html_element(
        page->html, "p",
        _("Looks whether the file is sound, the entries agree with each other, and each attachment is there."), NULL);
    dw_form_begin(page, "/shop/check", false);
    dw_form_tick(page, "thorough", _("Read every attachment too, which takes longer"), false);
    dw_form_button(page, _("Check the book"));
    dw_form_end(page);
}

static DwAnswer show_backup(const DwWebRequest *request)
{
    char *folder = dw_settings_text(request->book, "backup.folder");
    DwPage *page =
        dw_page_begin(request, &(DwPageHead){.title = _("Backup"), .room = DW_ROOM_SHOP, .style = "shop.css"});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("Backup"), NULL);
    dw_html_element(
        html, "p",
        _("The whole book, its photographs and recordings too, is copied while the work goes on. Keep one copy "
          "on a disk that is not in this computer, and now and then one out of the house."),
        NULL);
    if (*folder) {
        write_last(page, folder);
        dw_form_begin(page, "/shop/backup", false);
        dw_form_button(page, _("Make a backup now"));
        dw_form_end(page);
    } else
        dw_page_remark(page, _("No folder is chosen yet."));
    write_folder_form(page, folder);
    dw_html_open(html, "p", "class", "quiet", NULL);
    dw_html_text(html, _("The way back, in a terminal and with the bench ended:"));
    dw_html_text(html, " ");
    dw_html_element(html, "code", "deckwright book restore FOLDER", NULL);
    dw_html_close(html, "p");
    write_check_form(page);
    DwAnswer answer = dw_page_end(page);
    free(folder);
    return answer;
}

static void write_problems(DwPage *page, const DwProblems *problems)
{
    DwHtml *html = page->html;
    dw_html_open(html, "ul", NULL);
    for (size_t i = 0; i < problems->count; i++) {
        char *words = dw_veil(page->request, problems->lines[i]);
        dw_html_element(html, "li", words, NULL);
        free(words);
    }
    dw_html_close(html, "ul");
}

// The backup is made, but not of everything.
static DwAnswer show_missing(const DwWebRequest *request, const DwProblems *problems)
{
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("Backup"), .room = DW_ROOM_SHOP});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("Backup"), NULL);
    dw_page_caution(page,
                    _("The backup is made, but these attachments are not in it as they were put into the book. An "
                      "earlier backup may have them."));
    write_problems(page, problems);
    dw_page_link(page, "/shop/backup", _("To the backup"));
    return dw_page_end(page);
}

static DwAnswer make_backup(const DwWebRequest *request)
{
    DwAnswer answer;
    char *folder = dw_settings_text(request->book, "backup.folder");
    DwMessage message;
    DwProblems problems = {0};
    DwStatus status = *folder ? dw_backup_write(request->book, folder, &problems, &message)
                              : dw_fail(&message, DW_BAD_INPUT, "%s", _("No folder is chosen yet."));
    free(folder);
    if (status != DW_OK)
        answer = dw_answer_trouble(status, &message);
    else if (problems.count)
        answer = show_missing(request, &problems);
    else
        answer = dw_answer_kept(_("The backup is whole."), "/shop/backup");
    dw_problems_clear(&problems);
    return answer;
}

static DwAnswer check(const DwWebRequest *request)
{
    DwCheckReport report;
    DwMessage message;
    bool thorough = strcmp(dw_request_field(request, "thorough"), "yes") == 0;
    // The tick sends "no" first and "yes" after it.
    const char *name, *value;
    for (size_t i = 0; dw_request_field_at(request, i, &name, &value); i++)
        thorough = thorough || (strcmp(name, "thorough") == 0 && strstr(value, "yes"));
    DwStatus status = dw_check_book(request->book, thorough, &report, &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    DwPage *page = dw_page_begin(request, &(DwPageHead){.title = _("The book's check"), .room = DW_ROOM_SHOP});
    DwHtml *html = page->html;
    dw_html_element(html, "h1", _("The book's check"), NULL);
    if (report.problems.count) {
        write_problems(page, &report.problems);
        dw_page_caution(
            page, _("Make no backup over an earlier one until this is understood: the earlier one may be better."));
    } else
        dw_html_element(html, "p", _("All is well."), "class", "lead", NULL);
    dw_html_open(html, "p", "class", "quiet", NULL);
    dw_html_format(html, thorough ? _("Attachments read: %zu.") : _("Attachments looked for: %zu."),
                   report.attachments);
    dw_html_close(html, "p");
    dw_check_report_clear(&report);
    dw_page_link(page, "/shop/backup", _("To the backup"));
    return dw_page_end(page);
}

const DwWebRoute dw_routes_backup[] = {
    {"GET", "/shop/backup", show_backup, .open = false},
    {"POST", "/shop/backup", make_backup, .open = false},
    {"POST", "/shop/check", check, .open = false},
    {0},
};
