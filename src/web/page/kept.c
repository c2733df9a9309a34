// SPDX-License-Identifier: MIT
#include "web/page/kept.h"

#include "base/memory.h"
#include "base/text.h"
#include "book/entry/entry.h"
#include "book/entry/twin.h"
#include "book/shop/settings.h"
#include "web/page/page.h"
#include "web/server/route.h"
#include "web/server/words.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// What is said, and by which word a page's address says it.
static const struct {
    const char *key, *words;
} said[] = {
    [DW_KEPT_CHANGED] = {"changed", N_("Kept.")},
    [DW_KEPT_SAME] = {"same", N_("Nothing was changed.")},
    [DW_KEPT_ADDED] = {"added", N_("Added.")},
    [DW_KEPT_REMOVED] = {"removed", N_("Removed.")},
    [DW_KEPT_UNDONE] = {"undone", N_("Undone. The journal keeps both.")},
    [DW_KEPT_MERGED] = {"merged", N_("They are one now; the journal notes each step.")},
    [DW_KEPT_PARTED] = {"parted", N_("They are two again; the journal keeps both.")},
};

// What is said of WHAT; of two that were taken apart also what stays with the one that stayed. The caller frees it.
static char *words_of(const DwWebRequest *request, DwKeptWhat what, DwJournalSpan span)
{
    DwJournal journal = {0};
    int64_t from, into;
    char *staying = NULL, *words = NULL;
    bool parted = what == DW_KEPT_PARTED && dw_journal_line(request->book, span.first, &journal, NULL) == DW_OK &&
                  dw_twin_is_merging(&journal.lines[0]) &&
                  dw_twin_pair(request->book, &journal.lines[0], &from, &into, NULL) == DW_OK;
    if (parted)
        staying = dw_twin_staying(request->book, &journal.lines[0]);
    if (staying && *staying)
        words = dw_text_format(
            _("%s Number %lld keeps what was added or changed since: %s. Check which of the two it belongs to."),
            dw_words(said[what].words), (long long)into, staying);
    free(staying);
    dw_journal_clear(&journal);
    return words ? words : dw_memory_text(dw_words(said[what].words));
}

static char *undo_path(DwJournalSpan span)
{
    return dw_text_format("/undo/%lld/%lld", (long long)span.first, (long long)span.last);
}

// What the record that LINE is about is called: "part Belt 480 mm". The caller frees it with free().
static char *record_words(const DwWebRequest *request, const DwEntity *entity, const DwJournalLine *line)
{
    DwRecord *record = dw_record_new(entity);
    char *title = dw_record_load(request->book, record, line->row, NULL) == DW_OK
                      ? dw_entry_title(request->book, record)
                      : dw_memory_text("");
    char *words = dw_text_format(*title ? "%s %s" : "%s", dw_words(entity->label), title);
    dw_record_free(record);
    free(title);
    return words;
}

static char *field_words(const DwEntity *entity, const DwJournalLine *line, bool more)
{
    const DwField *field = entity ? dw_field_find(entity, line->field) : NULL;
    const DwSetting *setting = entity ? NULL : dw_settings_find(line->field);
    if (setting)
        field = &setting->field;
    return dw_text_format(more ? _("Undo: changed “%s” and more") : _("Undo: changed “%s”"),
                          field ? dw_words(field->label) : line->field);
}

// The words of the button that undoes SPAN, which name the act; NULL when it cannot be
// undone, or no longer. The caller frees them with free().
static char *undo_words(const DwWebRequest *request, DwJournalSpan span)
{
    DwJournal journal = {0};
    if (!span.first || dw_journal_line(request->book, span.first, &journal, NULL) != DW_OK)
        return NULL;
    const DwJournalLine *line = &journal.lines[0];
    char *words = NULL;
    if (dw_journal_check_undo(request->book, line, NULL) == DW_OK) {
        const DwEntity *entity = dw_entity_find(line->entity);
        if (dw_twin_is_merging(line))
            words = dw_memory_text(_("Take them apart again"));
        else if (entity && !*line->field) {
            bool added = strcmp(line->new_value, "added") == 0;
            char *record = record_words(request, entity, line);
            words = dw_text_format(added ? _("Undo: added %s") : _("Undo: removed %s"), record);
            free(record);
        } else
            words = field_words(entity, line, span.last > span.first);
    }
    dw_journal_clear(&journal);
    return words;
}

DwAnswer dw_kept_answer(const DwWebRequest *request, const DwKept *kept)
{
    const char *anchor = kept->anchor ? kept->anchor : "";
    char *place = dw_text_format("%s%ckept=%lld-%lld-%s%s%s", kept->path, strchr(kept->path, '?') ? '&' : '?',
                                 (long long)kept->span.first, (long long)kept->span.last, said[kept->what].key,
                                 *anchor ? "#" : "", anchor);
    char *words = words_of(request, kept->what, kept->span);
    DwAnswer answer = dw_answer_kept(words, place);
    char *act = undo_words(request, kept->span);
    answer.undo = act ? undo_path(kept->span) : dw_memory_text("");
    answer.act = act ? act : dw_memory_text("");
    answer.revision = kept->revision;
    free(place);
    free(words);
    return answer;
}

DwAnswer dw_kept_change(const DwWebRequest *request, DwRecord *record, const char *path, const char *anchor)
{
    DwMessage message;
    DwJournalSpan span = {0};
    DwStatus status = dw_entry_change(request->book, record, &span, &message);
    if (status != DW_OK)
        return dw_answer_trouble(status, &message);
    return dw_kept_answer(request, &(DwKept){.path = path,
                                             .anchor = anchor,
                                             .span = span,
                                             .revision = record->revision,
                                             .what = span.first ? DW_KEPT_CHANGED : DW_KEPT_SAME});
}

DwAnswer dw_kept_line(const DwWebRequest *request, const DwRecord *record, int64_t id, DwKeptWhat what,
                      const char *path, const char *anchor)
{
    DwJournal journal = {0};
    DwJournalSpan span = {0};
    // The line about the record as a whole is followed by none, or by the values that went with it.
    if (dw_journal_read(request->book, record->entity->name, id, 0, &journal, NULL) == DW_OK)
        for (size_t i = 0; i < journal.count; i++)
            if (!*journal.lines[i].field)
                span.first = span.last =
                    dw_journal_check_undo(request->book, &journal.lines[i], NULL) == DW_OK ? journal.lines[i].id : 0;
    dw_journal_clear(&journal);
    return dw_kept_answer(
        request, &(DwKept){.what = what, .path = path, .anchor = anchor, .span = span, .revision = record->revision});
}

static void write_undo(DwPage *page, DwJournalSpan span, const char *act)
{
    char *path = undo_path(span);
    const char *at = dw_request_query(page->request, "at");
    char *back = dw_text_format("%s%s%s", page->request->path, *at ? "?at=" : "", at);
    dw_form_begin(page, path, false);
    dw_html_void(page->html, "input", "type", "hidden", "name", "back", "value", back, NULL);
    dw_form_button(page, act);
    dw_form_end(page);
    free(path);
    free(back);
}

void dw_kept_write(DwPage *page)
{
    const char *address = dw_request_query(page->request, "kept");
    long long first, last;
    int end = 0;
    if (!*address || sscanf(address, "%15lld-%15lld-%n", &first, &last, &end) != 2 || !end || first < 0 || last < first)
        return;
    size_t what = 0;
    while (what < sizeof said / sizeof *said && strcmp(said[what].key, address + end) != 0)
        what++;
    if (what == sizeof said / sizeof *said)
        return;
    // Undone since, it is no news.
    char *act = undo_words(page->request, (DwJournalSpan){first, last});
    if (first && !act && what != DW_KEPT_PARTED)
        return;
    char *words = words_of(page->request, (DwKeptWhat)what, (DwJournalSpan){first, last});
    dw_html_element(page->html, "span", words, NULL);
    free(words);
    if (act)
        write_undo(page, (DwJournalSpan){first, last}, act);
    free(act);
}
