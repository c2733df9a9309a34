// SPDX-License-Identifier: MIT
#include "web/server/part_head.h"

#include "base/memory.h"
#include "base/text.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { MOST_BOUNDARY = 70 };

// Reads the value that stands at *AT, in quotes or up to the next ';', and moves
// *AT behind it. The caller frees it with free().
static char *read_value(const char **at)
{
    const char *from = *at;
    char *value = dw_memory_new(strlen(from) + 1, 1), *into = value;
    if (*from == '"') {
        for (from++; *from && *from != '"'; from++) {
            if (*from == '\\' && from[1] == '"')
                from++;
            *into++ = *from;
        }
        from += *from == '"';
    } else {
        while (*from && !strchr("; \t\r\n", *from))
            *into++ = *from++;
    }
    *at = from;
    return value;
}

// The value of the parameter NAME in the line AT ("form-data; name=\"note\""), NULL
// without it. The caller frees it with free().
static char *parameter(const char *at, const char *name)
{
    size_t length = strlen(name);
    at += strcspn(at, ";");
    while (*at == ';') {
        at += 1 + strspn(at + 1, " \t");
        size_t word = strcspn(at, "=;");
        bool wanted = word == length && strncasecmp(at, name, length) == 0;
        at += word;
        if (*at != '=')
            continue;
        at++;
        char *value = read_value(&at);
        if (wanted)
            return value;
        free(value);
        at += strcspn(at, ";");
    }
    return NULL;
}

// What browsers write for the three signs that cannot stand in quotes, back.
static char *unquoted(char *text)
{
    static const struct {
        const char *coded;
        char sign;
    } signs[] = {{"%22", '"'}, {"%0D", '\r'}, {"%0A", '\n'}};
    char *into = text;
    for (const char *from = text; from && *from;) {
        size_t i = 0;
        while (i < 3 && strncasecmp(from, signs[i].coded, 3) != 0)
            i++;
        *into++ = i < 3 ? signs[i].sign : *from;
        from += i < 3 ? 3 : 1;
    }
    if (into)
        *into = '\0';
    return text;
}

void dw_part_head_clear(DwPartHead *head)
{
    free(head->name);
    free(head->file);
    *head = (DwPartHead){0};
}

bool dw_part_head_read(DwPartHead *head, const char *text, size_t length)
{
    static const char wanted[] = "Content-Disposition:";
    if (memchr(text, '\0', length))
        return false;
    char *lines = dw_text_format("%.*s", (int)length, text);
    for (char *line = lines; line && !head->name;) {
        char *end = strstr(line, "\r\n");
        if (end)
            *end = '\0';
        if (strncasecmp(line, wanted, strlen(wanted)) == 0) {
            dw_part_head_clear(head); // an earlier line may have named a file and no field
            head->name = unquoted(parameter(line + strlen(wanted), "name"));
            head->file = unquoted(parameter(line + strlen(wanted), "filename"));
        }
        line = end ? end + 2 : NULL;
    }
    free(lines);
    return head->name != NULL;
}

char *dw_part_head_boundary(const char *type)
{
    char *boundary = parameter(type, "boundary");
    size_t length = boundary ? strlen(boundary) : 0;
    bool usable = length > 0 && length <= MOST_BOUNDARY && dw_text_is_utf8(boundary, length);
    for (size_t i = 0; usable && i < length; i++)
        usable = (unsigned char)boundary[i] >= 32;
    if (usable)
        return boundary;
    free(boundary);
    return NULL;
}
