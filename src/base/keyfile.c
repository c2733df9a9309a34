// SPDX-License-Identifier: MIT
#include "base/keyfile.h"

#include "base/memory.h"
#include "base/small_file.h"

#include <errno.h>
#include <ini.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    DwKeyfile *file;
    FILE *stream;
    unsigned line;
} Parsing;

static char *next_line(char *line, int size, void *user)
{
    Parsing *parsing = user;
    char *got = fgets(line, size, parsing->stream);
    if (got)
        parsing->line++;
    return got;
}

static int take_line(void *user, const char *group, const char *key, const char *value)
{
    Parsing *parsing = user;
    DwKeyfile *file = parsing->file;
    if (file->count == DW_KEYFILE_LINES_MOST)
        return 0;
    if (file->count == file->room) {
        file->room = file->room * 2 + 16;
        file->lines = dw_memory_resize(file->lines, file->room, sizeof *file->lines);
    }
    file->lines[file->count++] = (DwKeyLine){
        .group = dw_memory_text(group),
        .key = dw_memory_text(key ? key : ""),
        .value = dw_memory_text(value ? value : ""),
        .line = parsing->line,
    };
    return 1;
}

static DwStatus parse(FILE *stream, const char *name, DwKeyfile *file, DwMessage *message)
{
    Parsing parsing = {.file = file, .stream = stream};
    *file = (DwKeyfile){0};
    int bad_line = ini_parse_stream(next_line, &parsing, take_line, &parsing);
    if (ferror(stream))
        bad_line = -1;
    if (bad_line == 0)
        return DW_OK;
    bool full = file->count == DW_KEYFILE_LINES_MOST;
    dw_keyfile_clear(file);
    if (full)
        return dw_fail(message, DW_BAD_INPUT, "%s: has more than %d keys. It is no file of this kind.", name,
                       DW_KEYFILE_LINES_MOST);
    if (bad_line < 0)
        return dw_fail(message, DW_BAD_INPUT, "%s: cannot be read as a key file.", name);
    return dw_fail(message, DW_BAD_INPUT,
                   "%s: line %d is neither [group] nor key = value, or is over 199 characters long.", name, bad_line);
}

DwStatus dw_keyfile_parse(const char *text, size_t length, const char *name, DwKeyfile *file, DwMessage *message)
{
    *file = (DwKeyfile){0};
    if (length > DW_KEYFILE_BYTES_MOST)
        return dw_fail(message, DW_BAD_INPUT, "%s: has more than %d kB. It is no file of this kind.", name,
                       DW_KEYFILE_BYTES_MOST / 1024);
    if (length == 0)
        return DW_OK;
    FILE *stream = fmemopen((void *)text, length, "r");
    if (!stream)
        return dw_fail(message, DW_FAILED, "%s: cannot be read (%s).", name, strerror(errno));
    DwStatus status = parse(stream, name, file, message);
    fclose(stream);
    return status;
}

DwStatus dw_keyfile_read(const char *path, DwKeyfile *file, DwMessage *message)
{
    *file = (DwKeyfile){0};
    char *text;
    size_t length;
    DwStatus status = dw_small_file_read(path, DW_KEYFILE_BYTES_MOST, &text, &length, message);
    if (status != DW_OK)
        return status;
    status = dw_keyfile_parse(text, length, path, file, message);
    free(text);
    return status;
}

void dw_keyfile_clear(DwKeyfile *file)
{
    for (size_t i = 0; i < file->count; i++) {
        free(file->lines[i].group);
        free(file->lines[i].key);
        free(file->lines[i].value);
    }
    free(file->lines);
    *file = (DwKeyfile){0};
}

const char *dw_keyfile_value(const DwKeyfile *file, const char *group, const char *key)
{
    for (size_t i = file->count; i-- > 0;)
        if (strcmp(file->lines[i].group, group) == 0 && strcmp(file->lines[i].key, key) == 0)
            return file->lines[i].value;
    return NULL;
}
