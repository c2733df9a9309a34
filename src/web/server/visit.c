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

static const char *in(const struct _u_map *map, const char *name)
{
    const char *value = map ? u_map_get(map, name) : NULL;
    return value ? value : "";
}

const char *dw_visit_path(const DwVisit *visit, const char *name)
{
    return in(visit->request->map_url, name);
}

const char *dw_visit_query(const DwVisit *visit, const char *name)
{
    return in(visit->request->map_url, name);
}

// Ulfius joins what came under one name by a comma. A ticked box sends "yes" after the
// "no" that is sent without it (dw_form_tick).
static const char *of_tick(const char *value)
{
    return strcmp(value, "no,yes") == 0 ? "yes" : value;
}

const char *dw_visit_field(const DwVisit *visit, const char *name)
{
    return of_tick(in(visit->request->map_post_body, name));
}

bool dw_visit_sent(const DwVisit *visit, const char *name)
{
    return visit->request->map_post_body && u_map_has_key(visit->request->map_post_body, name);
}

int64_t dw_visit_id(const DwVisit *visit, const char *name)
{
    const char *text = dw_visit_path(visit, name);
    char *end;
    long long id = strtoll(text, &end, 10);
    return isdigit((unsigned char)*text) && *end == '\0' && id > 0 ? id : 0;
}

bool dw_visit_field_at(const DwVisit *visit, size_t index, const char **name, const char **value)
{
    const struct _u_map *map = visit->request->map_post_body;
    if (!map || index >= (size_t)map->nb_values)
        return false;
    *name = map->keys[index];
    *value = of_tick(map->values[index] ? map->values[index] : "");
    return true;
}

const char *dw_visit_header(const DwVisit *visit, const char *name)
{
    const char *value = u_map_get_case(visit->request->map_header, name);
    return value ? value : "";
}

bool dw_visit_file(const DwVisit *visit, const char *name, DwVisitFile *file)
{
    return dw_visit_file_at(visit, name, 0, file);
}

bool dw_visit_file_at(const DwVisit *visit, const char *name, size_t index, DwVisitFile *file)
{
    return dw_uploads_find(visit->server->uploads, visit->request, name, index, file);
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
    u_map_put(visit->response->map_header, name, value);
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
    ulfius_set_empty_body_response(visit->response, 303);
    free(path);
}

bool dw_visit_by_script(const DwVisit *visit)
{
    return strstr(dw_visit_header(visit, "Accept"), "application/json") != NULL;
}

static void send_words(DwVisit *visit, unsigned status, const char *words)
{
    json_t *object = json_pack("{s:b, s:s}", "kept", status < 400, "words", words);
    if (!object) // the words hold what was typed, and that was no text
        object = json_pack("{s:b, s:s}", "kept", status < 400, "words", _("What was sent is no text."));
    char *text = json_dumps(object, 0);
    json_decref(object);
    dw_visit_send(visit, "application/json", text, strlen(text));
    visit->response->status = status;
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
    ulfius_set_binary_body_response(visit->response, visit->response->status ? (unsigned)visit->response->status : 200,
                                    bytes, length);
    free(bytes);
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
