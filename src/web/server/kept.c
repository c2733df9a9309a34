// SPDX-License-Identifier: MIT
#include "web/server/kept.h"

#include "base/text.h"
#include "book/entry/entry.h"
#include "web/page/page.h"
#include "web/server/private.h"
#include "web/page/words.h"

#include <jansson.h>
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
};

static char *undo_path(DwJournalSpan span)
{
    return dw_text_format("/undo/%lld/%lld", (long long)span.first, (long long)span.last);
}

static void tell_script(DwVisit *visit, const DwKept *kept)
{
    const char *words = dw_words(said[kept->what].words);
    char *undo = kept->span.first ? undo_path(kept->span) : NULL;
    json_t *object = json_pack("{s:b, s:s, s:s, s:I}", "kept", 1, "words", words, "undo", undo ? undo : "", "revision",
                               (json_int_t)kept->revision);
    char *text = json_dumps(object, 0);
    json_decref(object);
    free(undo);
    dw_visit_send(visit, "application/json", text, strlen(text));
}

void dw_kept_tell(DwVisit *visit, const DwKept *kept)
{
    if (dw_visit_by_script(visit)) {
        tell_script(visit, kept);
        return;
    }
    const char *anchor = kept->anchor ? kept->anchor : "";
    dw_visit_go(visit, "%s?kept=%lld-%lld-%s%s%s", kept->path, (long long)kept->span.first, (long long)kept->span.last,
                said[kept->what].key, *anchor ? "#" : "", anchor);
}

void dw_kept_change(DwVisit *visit, DwRecord *record, const char *path, const char *anchor)
{
    DwMessage message;
    DwJournalSpan span = {0};
    DwStatus status = dw_entry_change(visit->book, record, &span, &message);
    if (status != DW_OK)
        dw_visit_trouble(visit, status, &message);
    else
        dw_kept_tell(visit, &(DwKept){.path = path,
                                      .anchor = anchor,
                                      .span = span,
                                      .revision = record->revision,
                                      .what = span.first ? DW_KEPT_CHANGED : DW_KEPT_SAME});
}

void dw_kept_line(DwVisit *visit, const DwRecord *record, int64_t id, DwKeptWhat what, const char *path,
                  const char *anchor)
{
    DwJournal journal = {0};
    DwJournalSpan span = {0};
    // The line about the record as a whole is followed by none, or by the values that went with it.
    if (dw_journal_read(visit->book, record->entity->name, id, 0, &journal, NULL) == DW_OK)
        for (size_t i = 0; i < journal.count; i++)
            if (!*journal.lines[i].field)
                span.first = span.last =
                    dw_journal_check_undo(visit->book, &journal.lines[i], NULL) == DW_OK ? journal.lines[i].id : 0;
    dw_journal_clear(&journal);
    dw_kept_tell(visit,
                 &(DwKept){.what = what, .path = path, .anchor = anchor, .span = span, .revision = record->revision});
}

void dw_kept_write(DwVisit *visit)
{
    const char *address = dw_visit_query(visit, "kept");
    long long first, last;
    int end = 0;
    if (!*address || sscanf(address, "%15lld-%15lld-%n", &first, &last, &end) != 2 || !end || first < 0 || last < first)
        return;
    size_t what = 0;
    while (what < sizeof said / sizeof *said && strcmp(said[what].key, address + end) != 0)
        what++;
    if (what == sizeof said / sizeof *said)
        return;
    DwHtml *html = visit->html;
    dw_html_open(html, "div", "class", "word told", "role", "status", NULL);
    dw_html_element(html, "span", dw_words(said[what].words), NULL);
    if (first) {
        char *path = undo_path((DwJournalSpan){first, last});
        dw_form_begin(visit, path, false);
        dw_html_void(html, "input", "type", "hidden", "name", "back", "value", visit->page, NULL);
        dw_form_button(visit, _("Undo"));
        dw_form_end(visit);
        free(path);
    }
    dw_html_close(html, "div");
}
