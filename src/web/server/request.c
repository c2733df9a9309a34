// SPDX-License-Identifier: MIT
#include "web/server/request.h"

#include "base/memory.h"
#include "base/text.h"
#include "web/server/private.h"
#include "web/server/words.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *in(const DwPairs *pairs, const char *name)
{
    const char *value = pairs ? dw_pairs_find(pairs, name) : NULL;
    return value ? value : "";
}

// The posted form; NULL when the request posts none.
static const DwPairs *form_of(const DwWebRequest *request)
{
    return request->incoming->body ? dw_body_fields(request->incoming->body) : NULL;
}

const char *dw_request_path(const DwWebRequest *request, const char *name)
{
    return in(&request->incoming->parts, name);
}

const char *dw_request_query(const DwWebRequest *request, const char *name)
{
    return in(&request->incoming->query, name);
}

const char *dw_request_field(const DwWebRequest *request, const char *name)
{
    return in(form_of(request), name);
}

bool dw_request_sent(const DwWebRequest *request, const char *name)
{
    const DwPairs *form = form_of(request);
    return form && dw_pairs_find(form, name);
}

int64_t dw_request_id(const DwWebRequest *request, const char *name)
{
    const char *text = dw_request_path(request, name);
    if (!*text)
        text = dw_request_query(request, name);
    char *end;
    long long id = strtoll(text, &end, 10);
    return isdigit((unsigned char)*text) && *end == '\0' && id > 0 ? id : 0;
}

bool dw_request_field_at(const DwWebRequest *request, size_t index, const char **name, const char **value)
{
    const DwPairs *form = form_of(request);
    if (!form || index >= form->count)
        return false;
    *name = form->pairs[index].name;
    *value = form->pairs[index].value;
    return true;
}

const char *dw_request_header(const DwWebRequest *request, const char *name)
{
    return dw_incoming_header(request->incoming, name);
}

bool dw_request_file(const DwWebRequest *request, const char *name, DwSentFile *file)
{
    return dw_request_file_at(request, name, 0, file);
}

bool dw_request_file_at(const DwWebRequest *request, const char *name, size_t index, DwSentFile *file)
{
    const DwUpload *upload = dw_upload_find(&request->incoming->uploads, name, index);
    if (!upload && index == 0)
        upload = dw_arriving_find(request, name);
    if (upload)
        *file = (DwSentFile){.path = upload->path, .name = upload->name, .bytes = (size_t)upload->bytes};
    return upload != NULL;
}

void dw_request_file_taken(const DwWebRequest *request, const char *name)
{
    DwUploadList *uploads = &request->incoming->uploads;
    for (size_t i = 0; i < uploads->count; i++)
        if (strcmp(uploads->files[i].field, name) == 0)
            uploads->files[i].stays = false;
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

bool dw_request_file_of(const DwWebRequest *request, const char *name, unsigned kinds, DwSentFile *file,
                        const DwContent **content, DwAnswer *refusal)
{
    DwSentFile sent;
    if (!dw_request_file(request, name, &sent)) {
        *refusal = dw_answer_refusal(400, _("No file came. Choose one and send it again."));
        return false;
    }
    const DwContent *told = dw_content_of_file(sent.path);
    if (!told || !(told->kind & kinds)) {
        *refusal = dw_answer_refusal(415, words_of_kinds(kinds));
        return false;
    }
    *file = sent;
    *content = told;
    return true;
}

bool dw_request_by_script(const DwWebRequest *request)
{
    return strstr(dw_request_header(request, "Accept"), "application/json") != NULL;
}

char *dw_request_read(const char *path, size_t *length)
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
