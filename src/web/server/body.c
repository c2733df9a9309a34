// SPDX-License-Identifier: MIT
#include "web/server/body.h"

#include "base/memory.h"
#include "base/text.h"
#include "web/server/part_head.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { MOST_HEAD = 8 << 10, MOST_FIELDS = 1000 }; // bytes of a part's head; fields of a form

typedef enum { ENCODED, UNTYPED, BEFORE_PARTS, AFTER_MARK, HEAD, FIELD, FILE_PART, AFTER_PARTS, NOTHING } Place;

// Bytes that grow.
typedef struct {
    char *bytes;
    size_t length, room;
} Bytes;

struct DwBody {
    DwBodyFiles files;
    Place place;
    DwBodyState state; // WHOLE until something was found wrong
    bool ended;
    char *mark; // between parts: a line end, two dashes, the boundary
    size_t mark_length;
    Bytes held;      // came and was not read yet
    size_t kept;     // bytes of heads and fields so far, files apart
    DwPartHead head; // of the part that is being read
    Bytes field;     // its value so far
    DwPairs fields;
    char *wrong;
};

static void add(Bytes *to, const char *bytes, size_t length)
{
    if (to->room - to->length < length) {
        while (to->room - to->length < length)
            to->room = to->room ? 2 * to->room : 4096;
        to->bytes = dw_memory_resize(to->bytes, to->room, 1);
    }
    if (length)
        memcpy(to->bytes + to->length, bytes, length);
    to->length += length;
}

// Lets the first LENGTH bytes go.
static void drop(Bytes *from, size_t length)
{
    from->length -= length;
    if (from->length)
        memmove(from->bytes, from->bytes + length, from->length);
}

static bool begins_with(const char *text, const char *beginning)
{
    return strncasecmp(text, beginning, strlen(beginning)) == 0;
}

static void fail(DwBody *body, DwBodyState state)
{
    if (body->state == DW_BODY_WHOLE)
        body->state = state;
    body->place = NOTHING;
}

DwBody *dw_body_new(const char *type, DwBodyFiles files)
{
    DwBody *body = dw_memory_new(1, sizeof *body);
    body->files = files;
    body->place = ENCODED;
    if (begins_with(type, "multipart/form-data")) {
        char *boundary = dw_part_head_boundary(type);
        body->place = BEFORE_PARTS;
        if (boundary) {
            body->mark = dw_text_format("\r\n--%s", boundary);
            body->mark_length = strlen(body->mark);
            add(&body->held, "\r\n", 2); // the first mark needs no line end before it
        } else
            fail(body, DW_BODY_NO_MARK);
        free(boundary);
    } else if (!begins_with(type, "application/x-www-form-urlencoded") && *type)
        fail(body, DW_BODY_NO_FORM);
    else if (!*type)
        body->place = UNTYPED; // nothing should come
    return body;
}

void dw_body_free(DwBody *body)
{
    if (!body)
        return;
    free(body->mark);
    free(body->held.bytes);
    free(body->field.bytes);
    free(body->wrong);
    dw_part_head_clear(&body->head);
    dw_pairs_clear(&body->fields);
    free(body);
}

// Counts LENGTH bytes that stay in memory; false when they are too many.
static bool may_keep(DwBody *body, size_t length)
{
    body->kept += length;
    if (body->kept > DW_BODY_MOST)
        fail(body, DW_BODY_TOO_LARGE);
    return body->place != NOTHING;
}

// Up to where what is held can hold no part of a mark; *FOUND says whether one stands there.
static size_t sure_length(const DwBody *body, bool *found)
{
    const char *mark =
        body->held.length ? memmem(body->held.bytes, body->held.length, body->mark, body->mark_length) : NULL;
    *found = mark != NULL;
    if (mark)
        return (size_t)(mark - body->held.bytes);
    return body->held.length < body->mark_length ? 0 : body->held.length - body->mark_length + 1;
}

static void end_field(DwBody *body)
{
    const char *name = body->head.name;
    bool named = dw_text_is_utf8(name, strlen(name));
    if (body->fields.count == MOST_FIELDS)
        fail(body, DW_BODY_TOO_LARGE);
    else if (named && dw_text_is_utf8(body->field.bytes, body->field.length)) {
        add(&body->field, "", 1);
        dw_pairs_add(&body->fields, name, body->field.bytes);
    } else {
        body->wrong = dw_memory_text(named ? name : "");
        fail(body, DW_BODY_NO_TEXT);
    }
}

static void keep_content(DwBody *body, size_t length)
{
    if (body->place == FILE_PART)
        body->files.more(body->files.context, body->held.bytes, length);
    else if (body->place == FIELD && may_keep(body, length)) {
        add(&body->field, body->held.bytes, length);
        if (body->field.length > DW_BODY_MOST_FIELD)
            fail(body, DW_BODY_TOO_LARGE);
    }
}

// Each reader below returns whether it took something and can go on.

static bool read_content(DwBody *body)
{
    bool found;
    size_t length = sure_length(body, &found);
    if (length)
        keep_content(body, length);
    if (found && body->place == FIELD)
        end_field(body);
    if (body->place == NOTHING)
        return false;
    drop(&body->held, found ? length + body->mark_length : length);
    if (found)
        body->place = AFTER_MARK;
    return found;
}

// After a mark two dashes end it all; else its line ends, spaces may stand before that.
static bool read_after_mark(DwBody *body)
{
    const char *bytes = body->held.bytes;
    size_t length = body->held.length, at = 0;
    if (length >= 2 && memcmp(bytes, "--", 2) == 0) {
        body->place = AFTER_PARTS;
        return false;
    }
    while (at < length && (bytes[at] == ' ' || bytes[at] == '\t'))
        at++;
    bool begun = at == length || (length - at == 1 && (bytes[at] == '\r' || (at == 0 && bytes[at] == '-')));
    bool ends = length - at >= 2 && memcmp(bytes + at, "\r\n", 2) == 0;
    if ((!begun && !ends) || at > MOST_HEAD)
        fail(body, DW_BODY_BROKEN);
    else if (ends) {
        drop(&body->held, at); // its line end is what a head without lines begins with
        body->place = HEAD;
    }
    return body->place == HEAD;
}

static bool read_head(DwBody *body)
{
    const char *end = memmem(body->held.bytes, body->held.length, "\r\n\r\n", 4);
    size_t length = end ? (size_t)(end - body->held.bytes) : body->held.length;
    if (length > MOST_HEAD || (end && !may_keep(body, length)))
        fail(body, length > MOST_HEAD ? DW_BODY_BROKEN : DW_BODY_TOO_LARGE);
    if (!end || body->place == NOTHING)
        return false;
    dw_part_head_clear(&body->head);
    if (!dw_part_head_read(&body->head, body->held.bytes, length)) {
        fail(body, DW_BODY_BROKEN);
        return false;
    }
    drop(&body->held, length + 4);
    body->field.length = 0;
    body->place = body->head.file ? FILE_PART : FIELD;
    if (body->head.file)
        body->files.begin(body->files.context, body->head.name, body->head.file);
    return true;
}

static bool read_parts(DwBody *body)
{
    switch (body->place) {
    case BEFORE_PARTS:
    case FIELD:
    case FILE_PART:
        return read_content(body);
    case AFTER_MARK:
        return read_after_mark(body);
    case HEAD:
        return read_head(body);
    case ENCODED:
    case UNTYPED:
    case AFTER_PARTS:
    case NOTHING:
        break;
    }
    return false;
}

static void free_bytes(Bytes *bytes)
{
    free(bytes->bytes);
    *bytes = (Bytes){0};
}

void dw_body_stop(DwBody *body)
{
    fail(body, DW_BODY_TOO_LARGE);
    free_bytes(&body->held);
    free_bytes(&body->field);
}

void dw_body_push(DwBody *body, const char *bytes, size_t length)
{
    if (length && body->place == UNTYPED)
        fail(body, DW_BODY_NO_FORM);
    if (body->place == AFTER_PARTS || body->place == NOTHING)
        return;
    if (body->place == ENCODED && !may_keep(body, length))
        return;
    add(&body->held, bytes, length);
    while (read_parts(body))
        ;
    if (body->place == NOTHING) {
        free_bytes(&body->held);
        free_bytes(&body->field);
    }
}

static size_t count_fields(const Bytes *encoded)
{
    size_t count = 1;
    for (size_t i = 0; i < encoded->length; i++)
        count += encoded->bytes[i] == '&';
    return count;
}

static void read_encoded(DwBody *body)
{
    if (count_fields(&body->held) > MOST_FIELDS) {
        fail(body, DW_BODY_TOO_LARGE);
        return;
    }
    body->wrong = dw_pairs_read(&body->fields, body->held.bytes, body->held.length);
    if (body->wrong)
        fail(body, DW_BODY_NO_TEXT);
    for (size_t i = 0; i < body->fields.count; i++)
        if (strlen(body->fields.pairs[i].value) > DW_BODY_MOST_FIELD)
            fail(body, DW_BODY_TOO_LARGE);
}

// The wire's line ends (CR and LF) become the book's: the same text is the same,
// whether a form or a script sent it.
static void plain_line_ends(char *text)
{
    char *into = text;
    for (const char *from = text; *from; from++) {
        bool both = from[0] == '\r' && from[1] == '\n';
        *into++ = *from == '\r' ? '\n' : *from;
        from += both;
    }
    *into = '\0';
}

// A box sends "no", and when it is ticked "yes" after it: one field. Anything else
// that comes twice would hide one of the two.
static void check_names(DwBody *body)
{
    DwPairs *fields = &body->fields;
    for (size_t i = 0; i < fields->count; i++)
        for (size_t j = i + 1; j < fields->count; j++) {
            DwNameValue *first = &fields->pairs[i], *second = &fields->pairs[j];
            if (strcmp(first->name, second->name) != 0)
                continue;
            if (strcmp(first->value, "no") != 0 || strcmp(second->value, "yes") != 0) {
                body->wrong = dw_memory_text(first->name);
                fail(body, DW_BODY_TWICE);
                return;
            }
            dw_pairs_put(fields, first->name, "yes");
            dw_pairs_drop(fields, j--);
        }
}

DwBodyState dw_body_end(DwBody *body)
{
    if (body->ended)
        return body->state;
    body->ended = true;
    if (body->place == ENCODED)
        read_encoded(body);
    else if (body->place != AFTER_PARTS && body->place != UNTYPED)
        fail(body, DW_BODY_BROKEN);
    if (body->state == DW_BODY_WHOLE)
        check_names(body);
    for (size_t i = 0; i < body->fields.count; i++)
        plain_line_ends(body->fields.pairs[i].value);
    return body->state;
}

const DwPairs *dw_body_fields(const DwBody *body)
{
    return &body->fields;
}

const char *dw_body_wrong(const DwBody *body)
{
    return body->wrong ? body->wrong : "";
}
