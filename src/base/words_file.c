// SPDX-License-Identifier: MIT
#include "base/words_file.h"

#include "base/memory.h"
#include "base/small_file.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { MOST = 32 << 20, HEAD = 20, ROW = 8 };
static const uint32_t magic = 0x950412de;

struct DwWordsFile {
    char *bytes;
    size_t length, count;
    size_t texts, translations; // where their tables begin
};

static uint32_t number_at(const DwWordsFile *file, size_t at)
{
    uint32_t number;
    memcpy(&number, file->bytes + at, sizeof number);
    return number;
}

// The text that ROW of the table at TABLE names.
static const char *text_at(const DwWordsFile *file, size_t table, size_t row)
{
    return file->bytes + number_at(file, table + ROW * row + 4);
}

// Whether each text of the table at TABLE lies in the file, with its zero behind it.
static bool is_sound(const DwWordsFile *file, size_t table)
{
    if (table > file->length || file->count > (file->length - table) / ROW)
        return false;
    for (size_t i = 0; i < file->count; i++) {
        size_t size = number_at(file, table + ROW * i), at = number_at(file, table + ROW * i + 4);
        if (at >= file->length || size >= file->length - at || file->bytes[at + size])
            return false;
    }
    return true;
}

static bool read_head(DwWordsFile *file)
{
    if (file->length < HEAD || number_at(file, 0) != magic || number_at(file, 4) >> 16 > 1)
        return false;
    file->count = number_at(file, 8);
    file->texts = number_at(file, 12);
    file->translations = number_at(file, 16);
    return is_sound(file, file->texts) && is_sound(file, file->translations);
}

DwWordsFile *dw_words_file_open(const char *path)
{
    DwWordsFile *file = dw_memory_new(1, sizeof *file);
    if (dw_small_file_read(path, MOST, &file->bytes, &file->length, NULL) == DW_OK && read_head(file))
        return file;
    dw_words_file_free(file);
    return NULL;
}

void dw_words_file_free(DwWordsFile *file)
{
    if (!file)
        return;
    free(file->bytes);
    free(file);
}

const char *dw_words_file_find(const DwWordsFile *file, const char *text)
{
    size_t from = 0, to = *text ? file->count : 0; // what stands for nothing is the file's own head
    while (from < to) {
        size_t middle = from + (to - from) / 2;
        int order = strcmp(text, text_at(file, file->texts, middle));
        if (order == 0) {
            const char *found = text_at(file, file->translations, middle);
            return *found ? found : text;
        }
        if (order < 0)
            to = middle;
        else
            from = middle + 1;
    }
    return text;
}
