// SPDX-License-Identifier: MIT
#include "book/shop/logo.h"

#include "base/content.h"
#include "base/memory.h"
#include "base/text.h"
#include "book/shop/settings.h"

#include <stdlib.h>
#include <string.h>

static const char key[] = "shop.logo", folder[] = "attachments/";

bool dw_logo_find(DwBook *book, DwAttachment *logo)
{
    char *path = dw_settings_text(book, key);
    bool found = strncmp(path, folder, strlen(folder)) == 0 &&
                 dw_record_find(book, &logo->record, "file", path + strlen(folder), NULL) == DW_OK;
    free(path);
    return found;
}

static DwStatus take(DwBook *book, const char *path, const char *caption, DwMessage *message)
{
    DwAttachment logo;
    const DwContent *content = dw_content_of_file(path);
    dw_record_init(&logo.record, &dw_attachment_entity);
    logo.kind = DW_ATTACHMENT_DOCUMENT;
    logo.caption = dw_memory_text(caption);
    logo.original_name = dw_text_format("logo%s", content ? content->ending : "");
    DwStatus status = dw_attachment_add(book, &logo, path, message);
    if (status == DW_OK) {
        char *set = dw_text_format("%s%s", folder, logo.file);
        status = dw_settings_set(book, key, set, message);
        free(set);
    }
    dw_record_clear(&logo.record);
    return status;
}

DwStatus dw_logo_set(DwBook *book, const char *path, const char *caption, DwMessage *message)
{
    const DwSetting *setting = dw_settings_find(key);
    DwAttachment old;
    dw_record_init(&old.record, &dw_attachment_entity);
    bool had = dw_logo_find(book, &old);
    DwStatus status = setting->check(book, &setting->field, path, message);
    if (status == DW_OK)
        status = dw_book_begin(book, message);
    if (status == DW_OK) {
        status = *path ? take(book, path, caption, message) : dw_settings_set(book, key, "", message);
        status = dw_book_end(book, status, message);
    }
    if (status == DW_OK && had) // its file goes only when nothing names it any more
        status = dw_attachment_remove(book, old.record.id, message);
    dw_record_clear(&old.record);
    return status;
}
