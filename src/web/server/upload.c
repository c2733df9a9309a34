// SPDX-License-Identifier: MIT
#include "web/server/private.h"

#include "base/memory.h"
#include "base/text.h"
#include "web/server/access.h"

#include <dirent.h>
#include <fcntl.h>
#include <ftw.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { FILES = 256, MOST_NAME = 200 };         // at once, of all requests
static const uint64_t most_bytes = 2ull << 30; // of one file: over half an hour of 96 kHz, 24 bits

struct DwUploads {
    pthread_mutex_t lock; // of the count
    char *folder;
    size_t count;
    char **old; // paths of leftovers
    size_t old_count;
};

static bool count_one(DwUploads *uploads)
{
    pthread_mutex_lock(&uploads->lock);
    bool room = uploads->count < FILES;
    uploads->count += room;
    pthread_mutex_unlock(&uploads->lock);
    return room;
}

static void forget(DwUploads *uploads, DwUpload *upload)
{
    if (upload->file)
        fclose(upload->file);
    if (!upload->stays)
        unlink(upload->path);
    free(upload->field);
    free(upload->name);
    free(upload->path);
    free(upload->hash);
    pthread_mutex_lock(&uploads->lock);
    uploads->count--;
    pthread_mutex_unlock(&uploads->lock);
}

static void note_old(DwUploads *uploads)
{
    DIR *directory = opendir(uploads->folder);
    for (const struct dirent *entry = directory ? readdir(directory) : NULL; entry; entry = readdir(directory)) {
        if (entry->d_name[0] == '.')
            continue;
        uploads->old = dw_memory_resize(uploads->old, uploads->old_count + 1, sizeof *uploads->old);
        uploads->old[uploads->old_count++] = dw_text_format("%s/%s", uploads->folder, entry->d_name);
    }
    if (directory)
        closedir(directory);
}

DwUploads *dw_uploads_new(const char *folder)
{
    DwUploads *uploads = dw_memory_new(1, sizeof *uploads);
    pthread_mutex_init(&uploads->lock, NULL);
    uploads->folder = dw_text_format("%s/incoming", folder);
    mkdir(uploads->folder, 0700);
    note_old(uploads);
    return uploads;
}

static int remove_entry(const char *path, const struct stat *status, int kind, struct FTW *walk)
{
    (void)status;
    (void)kind;
    (void)walk;
    return remove(path);
}

static void forget_old(DwUploads *uploads)
{
    for (size_t i = 0; i < uploads->old_count; i++)
        free(uploads->old[i]);
    free(uploads->old);
    uploads->old = NULL;
    uploads->old_count = 0;
}

void dw_uploads_clear_old(DwUploads *uploads)
{
    for (size_t i = 0; i < uploads->old_count; i++)
        nftw(uploads->old[i], remove_entry, 16, FTW_DEPTH | FTW_PHYS); // an export that was broken off is a folder
    forget_old(uploads);
}

void dw_uploads_free(DwUploads *uploads)
{
    if (!uploads)
        return;
    pthread_mutex_destroy(&uploads->lock);
    forget_old(uploads);
    free(uploads->folder);
    free(uploads);
}

// The file name alone, whatever path a device sent with it; only text is taken over.
static char *bare_name(const char *name)
{
    for (const char *slash; (slash = strpbrk(name, "/\\"));)
        name = slash + 1;
    bool usable = *name && strlen(name) < MOST_NAME && dw_text_is_utf8(name, strlen(name));
    char *bare = dw_memory_text(usable ? name : "unnamed");
    for (char *at = bare; *at; at++)
        if ((unsigned char)*at < 32 || *at == 127)
            *at = '_';
    return bare;
}

void dw_upload_skip(DwUploadList *list)
{
    list->shut = true;
}

// At a place that suits it, which malloc's need not. The caller frees it with free().
static crypto_generichash_state *new_hash(void)
{
    crypto_generichash_state *hash = aligned_alloc(_Alignof(crypto_generichash_state), sizeof *hash);
    if (!hash)
        abort(); // docs/decisions/0002
    return hash;
}

void dw_upload_begin(DwUploads *uploads, DwUploadList *list, const char *field, const char *name)
{
    if (list->count == DW_UPLOADS_OF_REQUEST || !count_one(uploads)) {
        list->refused = true; // a form with a file left out is refused whole
        dw_upload_skip(list);
        return;
    }
    char unique[65];
    dw_access_token(unique);
    list->files = dw_memory_resize(list->files, list->count + 1, sizeof *list->files);
    DwUpload *upload = &list->files[list->count++];
    list->shut = false;
    *upload = (DwUpload){.field = dw_memory_text(field),
                         .name = bare_name(name),
                         .path = dw_text_format("%s/%s", uploads->folder, unique),
                         .hash = new_hash()};
    crypto_generichash_init(upload->hash, NULL, 0, crypto_generichash_BYTES);
    int handle = open(upload->path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    upload->file = handle < 0 ? NULL : fdopen(handle, "w");
    if (handle >= 0 && !upload->file)
        close(handle);
    list->refused = list->refused || !upload->file;
}

const DwUpload *dw_upload_adopt(DwUploads *uploads, DwUploadList *list, const char *field, const char *name,
                                const char *path, uint64_t bytes)
{
    if (list->count == DW_UPLOADS_OF_REQUEST || !count_one(uploads))
        return NULL;
    list->files = dw_memory_resize(list->files, list->count + 1, sizeof *list->files);
    DwUpload *upload = &list->files[list->count++];
    *upload = (DwUpload){.field = dw_memory_text(field),
                         .name = bare_name(name),
                         .path = dw_memory_text(path),
                         .bytes = bytes,
                         .hash = new_hash(),
                         .stays = true};
    crypto_generichash_init(upload->hash, NULL, 0, crypto_generichash_BYTES);
    return upload;
}

void dw_upload_more(DwUploadList *list, const char *bytes, size_t length)
{
    DwUpload *upload = list->count ? &list->files[list->count - 1] : NULL;
    if (!upload || list->shut || list->refused)
        return;
    upload->bytes += length;
    list->refused = upload->bytes > most_bytes || fwrite(bytes, 1, length, upload->file) != length;
    crypto_generichash_update(upload->hash, (const unsigned char *)bytes, length);
}

const DwUpload *dw_upload_find(DwUploadList *list, const char *field, size_t place)
{
    for (size_t i = 0; i < list->count; i++) {
        DwUpload *upload = &list->files[i];
        if (upload->bytes == 0 || strcmp(upload->field, field) != 0 || place-- > 0)
            continue;
        return !upload->file || fflush(upload->file) == 0 ? upload : NULL;
    }
    return NULL;
}

void dw_upload_end(DwUploads *uploads, DwUploadList *list)
{
    for (size_t i = 0; i < list->count; i++)
        forget(uploads, &list->files[i]);
    free(list->files);
    *list = (DwUploadList){0};
}
