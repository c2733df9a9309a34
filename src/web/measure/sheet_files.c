// SPDX-License-Identifier: MIT
// What a sheet can be had as: its pictures, its numbers, its page, its true-scale paper.
#include "base/memory.h"
#include "base/sheet_json.h"
#include "base/text.h"
#include "chart/sheet/sheet_chart.h"
#include "chart/sheet/sheet_picture.h"
#include "web/measure/pages.h"
#include "web/measure/sheet_source.h"
#include "web/server/access.h"
#include "web/server/words.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// Names the file that the browser saves.
static void name_file(DwAnswer *answer, const DwSheetSource *source, const char *ending)
{
    char *words = dw_text_format("attachment; filename=\"%s.%s\"", source->sheet->procedure, ending);
    dw_answer_tell(answer, "Content-Disposition", words);
    free(words);
}

static DwAnswer send_json(const DwWebRequest *request)
{
    DwAnswer answer;
    DwSheetSource source;
    if (!dw_sheet_source_open(request, &source, &answer))
        return answer;
    char *json = dw_sheet_json_write(source.sheet);
    answer = dw_answer_bytes("application/json", json, strlen(json));
    name_file(&answer, &source, "json");
    dw_sheet_source_clear(request, &source);
    return answer;
}

static DwAnswer send_picture(const DwWebRequest *request)
{
    DwAnswer answer;
    DwSheetSource source;
    DwMessage message;
    if (!dw_sheet_source_open(request, &source, &answer))
        return answer;
    size_t number = (size_t)dw_request_id(request, "index"), length = 0;
    bool dark = strcmp(dw_request_query(request, "look"), "dark") == 0, narrow = dw_request_id(request, "wide") == 480;
    char *bytes = NULL;
    DwSheetPage *page = dw_sheet_page_new(source.sheet, source.before);
    DwStatus status = DW_OK;
    bool there = number > 0 && number <= dw_sheet_picture_count(page);
    if (there)
        status = dw_sheet_picture_render(page, number - 1, narrow ? 480 : 800, dark ? DW_THEME_DARK : DW_THEME_LIGHT,
                                         &bytes, &length, &message);
    if (!there)
        answer = dw_answer_refusal(404, _("There is no such picture."));
    else if (status == DW_OK)
        answer = dw_answer_bytes_asked("image/svg+xml", bytes, length);
    else
        answer = dw_answer_trouble(status, &message);
    dw_sheet_page_free(page);
    dw_sheet_source_clear(request, &source);
    return answer;
}

static DwAnswer send_paper(const DwWebRequest *request)
{
    DwAnswer answer;
    DwSheetSource source;
    DwMessage message;
    char *bytes = NULL;
    size_t length = 0;
    if (!dw_sheet_source_open(request, &source, &answer))
        return answer;
    DwStatus status = dw_sheet_chart_render(source.before, source.sheet, DW_SHEET_CHART_PDF, DW_THEME_PAPER, &bytes,
                                            &length, &message);
    if (status == DW_OK) {
        answer = dw_answer_bytes("application/pdf", bytes, length);
        name_file(&answer, &source, "pdf");
    } else
        answer = dw_answer_trouble(status, &message);
    dw_sheet_source_clear(request, &source);
    return answer;
}

static DwAnswer send_print(const DwWebRequest *request)
{
    DwAnswer answer;
    DwSheetSource source;
    DwMessage message;
    char word[65];
    size_t length = 0;
    if (!dw_sheet_source_open(request, &source, &answer))
        return answer;
    const DwResult *result = source.result;
    DwRequest asked = {.inputs = result->inputs};
    dw_access_token(word);
    char *path = dw_text_format("%s/incoming/%s.pdf", dw_book_folder(request->book), word);
    DwStatus status = result->procedure->print
                          ? result->procedure->print(&asked, path, &message)
                          : dw_fail(&message, DW_BAD_INPUT, "%s", _("There is nothing to print true to scale here."));
    char *bytes = status == DW_OK ? dw_request_read(path, &length) : NULL;
    if (status == DW_OK && !bytes)
        status = dw_fail(&message, DW_FAILED, "%s", _("The paper could not be read again after it was drawn."));
    unlink(path);
    free(path);
    if (status == DW_OK) {
        answer = dw_answer_bytes("application/pdf", bytes, length);
        name_file(&answer, &source, "pdf");
    } else
        answer = dw_answer_trouble(status, &message);
    dw_sheet_source_clear(request, &source);
    return answer;
}

const DwWebRoute dw_routes_sheet_files[] = {
    {"GET", "/result/:key/json", send_json, false},
    {"GET", "/result/:key/paper", send_paper, false},
    {"GET", "/result/:key/picture/:index", send_picture, false},
    {"GET", "/result/:key/print", send_print, false},
    {"GET", "/sheet/:id/json", send_json, false},
    {"GET", "/sheet/:id/paper", send_paper, false},
    {"GET", "/sheet/:id/picture/:index", send_picture, false},
    {0},
};
