// SPDX-License-Identifier: MIT
#include "web/server/upload.h"

#include "base/memory.h"
#include "base/text.h"
#include "web/server/private.h"

#include <dirent.h>
#include <fcntl.h>
#include <ftw.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// Ulfius gives a request no place of ours, so a request's files are known by a
// random word put among its headers. A device that sends such a header itself
// only names a word that is in no table.
#define MARK "Deckwright-Upload"
#define TOO_MANY "Deckwright-Too-Many"

enum { FILES = 256, FILES_OF_REQUEST = 32, MOST_NAME = 200 }; // at once, of all requests and of one
static const uint64_t most_bytes = 2ull << 30;                // of one file: over half an hour of 96 kHz, 24 bits

typedef struct {
    char *mark; // NULL: the slot is free
    char *key;
    size_t place; // among the files of one key, from 0
    char *name;
    char *path;
    FILE *file;
    uint64_t bytes;
    bool refused;
} Upload;

struct DwUploads {
    pthread_mutex_t lock;
    char *folder;
    char **old; // paths of leftovers
    size_t old_count;
    Upload files[FILES];
};

static void forget(Upload *upload)
{
    if (upload->file)
        fclose(upload->file);
    if (upload->path)
        unlink(upload->path);
    free(upload->mark);
    free(upload->key);
    free(upload->name);
    free(upload->path);
    *upload = (Upload){0};
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
    for (size_t i = 0; i < FILES; i++)
        forget(&uploads->files[i]);
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
    json_t *text = json_string(name); // which is none that is not UTF-8
    bool usable = text && *name && strlen(name) < MOST_NAME;
    json_decref(text);
    char *bare = dw_memory_text(usable ? name : "unnamed");
    for (char *at = bare; *at; at++)
        if ((unsigned char)*at < 32 || *at == 127)
            *at = '_';
    return bare;
}

// How many files of the request MARK came in the field KEY, or in all with NULL.
static size_t count(const DwUploads *uploads, const char *mark, const char *key)
{
    size_t found = 0;
    for (size_t i = 0; mark && i < FILES; i++) {
        const Upload *upload = &uploads->files[i];
        found += upload->mark && strcmp(upload->mark, mark) == 0 && (!key || strcmp(upload->key, key) == 0);
    }
    return found;
}

static Upload *find(DwUploads *uploads, const char *mark, const char *key, size_t place)
{
    for (size_t i = 0; mark && i < FILES; i++) {
        Upload *upload = &uploads->files[i];
        if (upload->mark && strcmp(upload->mark, mark) == 0 && strcmp(upload->key, key) == 0 && upload->place == place)
            return upload;
    }
    return NULL;
}

// The mark of REQUEST, drawn for its first file.
static const char *mark_of(DwUploads *uploads, const struct _u_request *request)
{
    const char *mark = u_map_get(request->map_header, MARK);
    if (count(uploads, mark, NULL) == 0) {
        char fresh[65];
        dw_access_token(fresh);
        u_map_put(request->map_header, MARK, fresh);
        mark = u_map_get(request->map_header, MARK);
    }
    return mark;
}

static Upload *free_slot(DwUploads *uploads, const char *mark)
{
    for (size_t i = 0; count(uploads, mark, NULL) < FILES_OF_REQUEST && i < FILES; i++)
        if (!uploads->files[i].mark)
            return &uploads->files[i];
    return NULL;
}

static Upload *begin(DwUploads *uploads, const struct _u_request *request, const char *key, const char *name)
{
    const char *mark = mark_of(uploads, request);
    Upload *upload = free_slot(uploads, mark);
    if (!upload) {
        // A form with a file left out is refused whole.
        u_map_put(request->map_header, TOO_MANY, "1");
        return NULL;
    }
    char unique[65];
    dw_access_token(unique);
    *upload = (Upload){.mark = dw_memory_text(mark),
                       .key = dw_memory_text(key),
                       .name = bare_name(name),
                       .path = dw_text_format("%s/%s", uploads->folder, unique),
                       .place = count(uploads, mark, key)};
    int handle = open(upload->path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    upload->file = handle < 0 ? NULL : fdopen(handle, "w");
    upload->refused = !upload->file;
    return upload;
}

int dw_uploads_take(const struct _u_request *request, const char *key, const char *file_name, const char *content_type,
                    const char *transfer_encoding, const char *data, uint64_t offset, size_t size, void *cls)
{
    (void)content_type;
    (void)transfer_encoding;
    DwServer *server = cls;
    DwUploads *uploads = server->uploads;
    if (!key || !file_name)
        return U_OK;
    // Whether the device is known is asked once a file: what follows has the mark that was drawn then.
    bool admitted = offset != 0 || dw_guard_admits(server, request);
    if (admitted && offset == 0)
        dw_watch_allow(server->watch, request);
    pthread_mutex_lock(&uploads->lock);
    const char *mark = u_map_get(request->map_header, MARK);
    size_t before = count(uploads, mark, key);
    Upload *upload = NULL;
    if (offset != 0)
        upload = before ? find(uploads, mark, key, before - 1) : NULL;
    else if (admitted)
        upload = begin(uploads, request, key, file_name);
    if (upload && upload->bytes + size > most_bytes)
        upload->refused = true;
    if (upload && !upload->refused) {
        upload->refused = fwrite(data, 1, size, upload->file) != size;
        upload->bytes += size;
    }
    pthread_mutex_unlock(&uploads->lock);
    return U_OK;
}

bool dw_uploads_find(DwUploads *uploads, const struct _u_request *request, const char *key, size_t place,
                     DwVisitFile *file)
{
    pthread_mutex_lock(&uploads->lock);
    Upload *upload = find(uploads, u_map_get(request->map_header, MARK), key, place);
    bool found = upload && !upload->refused && upload->bytes > 0;
    if (found && upload->file && fflush(upload->file) != 0)
        found = false;
    if (found)
        *file = (DwVisitFile){.path = upload->path, .name = upload->name, .bytes = (size_t)upload->bytes};
    pthread_mutex_unlock(&uploads->lock);
    return found;
}

bool dw_uploads_refused(DwUploads *uploads, const struct _u_request *request)
{
    bool refused = u_map_has_key(request->map_header, TOO_MANY);
    const char *mark = u_map_get(request->map_header, MARK);
    pthread_mutex_lock(&uploads->lock);
    for (size_t i = 0; mark && i < FILES; i++)
        if (uploads->files[i].mark && strcmp(uploads->files[i].mark, mark) == 0)
            refused |= uploads->files[i].refused;
    pthread_mutex_unlock(&uploads->lock);
    return refused;
}

void dw_uploads_end(DwUploads *uploads, const struct _u_request *request)
{
    const char *mark = u_map_get(request->map_header, MARK);
    pthread_mutex_lock(&uploads->lock);
    for (size_t i = 0; mark && i < FILES; i++)
        if (uploads->files[i].mark && strcmp(uploads->files[i].mark, mark) == 0)
            forget(&uploads->files[i]);
    pthread_mutex_unlock(&uploads->lock);
}
