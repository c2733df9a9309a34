// SPDX-License-Identifier: MIT
#include "web/server/visit.h"

#include "base/memory.h"
#include "base/text.h"
#include "web/page/page.h"
#include "web/server/private.h"
#include "web/page/words.h"

#include <ctype.h>
#include <jansson.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *in(const DwPairs *pairs, const char *name)
{
    const char *value = pairs ? dw_pairs_find(pairs, name) : NULL;
    return value ? value : "";
}

// The posted form; NULL when the visit posts none.
static const DwPairs *form_of(const DwVisit *visit)
{
    return visit->request->body ? dw_body_fields(visit->request->body) : NULL;
}

const char *dw_visit_path(const DwVisit *visit, const char *name)
{
    return in(&visit->request->parts, name);
}

const char *dw_visit_query(const DwVisit *visit, const char *name)
{
    return in(&visit->request->query, name);
}

const char *dw_visit_field(const DwVisit *visit, const char *name)
{
    return in(form_of(visit), name);
}

bool dw_visit_sent(const DwVisit *visit, const char *name)
{
    const DwPairs *form = form_of(visit);
    return form && dw_pairs_find(form, name);
}

int64_t dw_visit_id(const DwVisit *visit, const char *name)
{
    const char *text = dw_visit_path(visit, name);
    if (!*text)
        text = dw_visit_query(visit, name);
    char *end;
    long long id = strtoll(text, &end, 10);
    return isdigit((unsigned char)*text) && *end == '\0' && id > 0 ? id : 0;
}

bool dw_visit_field_at(const DwVisit *visit, size_t index, const char **name, const char **value)
{
    const DwPairs *form = form_of(visit);
    if (!form || index >= form->count)
        return false;
    *name = form->pairs[index].name;
    *value = form->pairs[index].value;
    return true;
}

const char *dw_visit_header(const DwVisit *visit, const char *name)
{
    return dw_request_header(visit->request, name);
}

bool dw_visit_file(const DwVisit *visit, const char *name, DwVisitFile *file)
{
    return dw_visit_file_at(visit, name, 0, file);
}

bool dw_visit_file_at(const DwVisit *visit, const char *name, size_t index, DwVisitFile *file)
{
    const DwUpload *upload = dw_upload_find(&visit->request->uploads, name, index);
    if (upload)
        *file = (DwVisitFile){.path = upload->path, .name = upload->name, .bytes = (size_t)upload->bytes};
    return upload != NULL;
}

// What the bench takes of KINDS, for a refusal.
static const char *words_of_kinds(unsigned kinds)
{
    if (kinds == DW_CONTENT_PICTURE)
        return _("This is no picture. Send a photograph as JPEG, PNG, WebP or HEIC.");
    if (kinds == DW_CONTENT_SOUND)
        return _("This is no recording. Send it as WAV, FLAC, AIFF, Ogg, MP3 or M4A.");
    if (kinds == DW_CONTENT_DOCUMENT)
        return _("This is no document. Send it as PDF.");
    return _("This file is of no kind that is kept here: pictures, recordings and PDF are.");
}

bool dw_visit_file_of(DwVisit *visit, const char *name, unsigned kinds, DwVisitFile *file, const DwContent **content)
{
    DwVisitFile sent;
    if (!dw_visit_file(visit, name, &sent)) {
        dw_visit_refuse(visit, 400, _("No file came. Choose one and send it again."));
        return false;
    }
    const DwContent *told = dw_content_of_file(sent.path);
    if (!told || !(told->kind & kinds)) {
        dw_visit_refuse(visit, 415, words_of_kinds(kinds));
        return false;
    }
    *file = sent;
    *content = told;
    return true;
}

void dw_visit_tell(DwVisit *visit, const char *name, const char *value)
{
    dw_pairs_put(&visit->answer.headers, name, value);
}

void dw_visit_go(DwVisit *visit, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    char *path = NULL;
    if (vasprintf(&path, format, list) < 0)
        abort();
    va_end(list);
    dw_visit_tell(visit, "Location", path);
    dw_answer_body(&visit->answer, 303, NULL, 0);
    free(path);
}

bool dw_visit_by_script(const DwVisit *visit)
{
    return strstr(dw_visit_header(visit, "Accept"), "application/json") != NULL;
}

static void send_words(DwVisit *visit, unsigned status, const char *words)
{
    json_t *object = json_pack("{s:b, s:s}", "kept", status < 400, "words", words);
    if (!object) // the words hold what the book holds, and that may be older than the check of what is sent
        object = json_pack("{s:b, s:s}", "kept", status < 400, "words", _("What was sent is no text."));
    char *text = json_dumps(object, 0);
    json_decref(object);
    dw_visit_send(visit, "application/json", text, strlen(text));
    visit->answer.status = status;
}

void dw_visit_kept(DwVisit *visit, const char *words, const char *path)
{
    if (dw_visit_by_script(visit))
        send_words(visit, 200, words);
    else
        dw_visit_go(visit, "%s", path);
}

static void send_refusal(DwVisit *visit, unsigned status, const char *words)
{
    DwHtml *html = dw_page_begin(
        visit,
        &(DwPage){.title = _("Not done"), .room = visit->known ? DW_ROOM_BOARD : DW_ROOM_NONE, .status = status});
    dw_html_element(html, "h1", _("That was not done"), NULL);
    dw_html_element(html, "p", words, "class", "lead", NULL);
    dw_page_link(visit, "/", _("To the board"));
    dw_page_end(visit);
}

void dw_visit_refuse(DwVisit *visit, unsigned status, const char *words)
{
    char *veiled = dw_veil(visit, words);
    dw_html_free(visit->html);
    visit->html = NULL;
    if (dw_visit_by_script(visit))
        send_words(visit, status, veiled);
    else
        send_refusal(visit, status, veiled);
    free(veiled);
}

void dw_visit_trouble(DwVisit *visit, DwStatus status, const DwMessage *message)
{
    dw_visit_refuse(visit, status == DW_BAD_INPUT ? 400 : 500, message->text);
}

void dw_visit_send(DwVisit *visit, const char *type, char *bytes, size_t length)
{
    dw_visit_tell(visit, "Content-Type", type);
    dw_answer_body(&visit->answer, visit->answer.status, bytes, length);
}

char *dw_visit_read(const char *path, size_t *length)
{
    FILE *file = fopen(path, "re");
    if (!file)
        return NULL;
    char *bytes = NULL;
    size_t room = 0, got = 0;
    *length = 0;
    do {
        *length += got;
        if (*length == room) {
            room = room ? 2 * room : 65536;
            bytes = dw_memory_resize(bytes, room, 1);
        }
        got = fread(bytes + *length, 1, room - *length, file);
    } while (got);
    bool failed = ferror(file);
    fclose(file);
    if (failed)
        free(bytes);
    return failed ? NULL : bytes;
}

void dw_visit_send_kept(DwVisit *visit, const char *type, char *bytes, size_t length, unsigned seconds)
{
    char *words = dw_text_format("private, max-age=%u", seconds);
    dw_visit_tell(visit, "Cache-Control", words);
    free(words);
    dw_visit_send(visit, type, bytes, length);
}
