// SPDX-License-Identifier: MIT
#include "web/server/visit.h"

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

bool dw_visit_file_of(DwVisit *visit, const char *name, unsigned kinds, DwVisitFile *file, const DwContent **content,
                      DwAnswer *refusal)
{
    DwVisitFile sent;
    if (!dw_visit_file(visit, name, &sent)) {
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

void dw_visit_give_back(DwVisit *visit)
{
    dw_server_return_book(visit->server, visit->book);
    visit->book = NULL;
}

bool dw_visit_by_script(const DwVisit *visit)
{
    return strstr(dw_visit_header(visit, "Accept"), "application/json") != NULL;
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
