// SPDX-License-Identifier: MIT
#include "web/upload.h"

#include "base/memory.h"
#include "base/text.h"
#include "web/private.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// Ulfius gives a request no place of ours, so a request's files are known by a
// random word put among its headers. A device that sends such a header itself
// only names a word that is in no table.
#define MARK "Deckwright-Upload"

enum { FILES = 256 };                          // at once, of all requests
static const uint64_t most_bytes = 2ull << 30; // of one file: over half an hour of 96 kHz, 24 bits
static const int64_t stale_seconds = 3600;     // an upload that was broken off

typedef struct {
    char *mark; // NULL: the slot is free
    char *key;
    char *name;
    char *path;
    FILE *file;
    uint64_t bytes;
    int64_t begun;
    bool refused;
} Upload;

struct DwUploads {
    pthread_mutex_t lock;
    char *folder;
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

// What an earlier run left behind.
static void empty_folder(const char *folder)
{
    DIR *directory = opendir(folder);
    if (!directory)
        return;
    struct dirent *entry;
    while ((entry = readdir(directory)))
        if (entry->d_name[0] != '.')
            unlinkat(dirfd(directory), entry->d_name, 0);
    closedir(directory);
}

DwUploads *dw_uploads_new(const char *folder)
{
    DwUploads *uploads = dw_memory_new(1, sizeof *uploads);
    pthread_mutex_init(&uploads->lock, NULL);
    uploads->folder = dw_text_format("%s/incoming", folder);
    mkdir(uploads->folder, 0700);
    empty_folder(uploads->folder);
    return uploads;
}

void dw_uploads_free(DwUploads *uploads)
{
    if (!uploads)
        return;
    for (size_t i = 0; i < FILES; i++)
        forget(&uploads->files[i]);
    pthread_mutex_destroy(&uploads->lock);
    free(uploads->folder);
    free(uploads);
}

// The file name alone, whatever path a device sent with it.
static char *bare_name(const char *name)
{
    for (const char *slash; name && (slash = strpbrk(name, "/\\"));)
        name = slash + 1;
    return dw_memory_text(name && *name ? name : "unnamed");
}

static Upload *find(DwUploads *uploads, const char *mark, const char *key)
{
    for (size_t i = 0; mark && i < FILES; i++) {
        Upload *upload = &uploads->files[i];
        if (upload->mark && strcmp(upload->mark, mark) == 0 && (!key || strcmp(upload->key, key) == 0))
            return upload;
    }
    return NULL;
}

static Upload *begin(DwUploads *uploads, const struct _u_request *request, const char *key, const char *name)
{
    const char *mark = u_map_get(request->map_header, MARK);
    char fresh[65];
    if (!find(uploads, mark, NULL)) {
        dw_access_token(fresh);
        u_map_put(request->map_header, MARK, fresh);
        mark = fresh;
    }
    for (size_t i = 0; i < FILES; i++) {
        Upload *upload = &uploads->files[i];
        if (upload->mark && time(NULL) - upload->begun > stale_seconds)
            forget(upload);
        if (upload->mark)
            continue;
        char unique[65];
        dw_access_token(unique);
        *upload = (Upload){.mark = dw_memory_text(mark),
                           .key = dw_memory_text(key),
                           .name = bare_name(name),
                           .path = dw_text_format("%s/%s", uploads->folder, unique),
                           .begun = time(NULL)};
        upload->file = fopen(upload->path, "wxe");
        if (upload->file)
            chmod(upload->path, 0600);
        upload->refused = !upload->file;
        return upload;
    }
    return NULL;
}

// Whether a browser that holds a session sent REQUEST: others write nothing here.
static bool allowed(DwServer *server, const struct _u_request *request)
{
    return dw_guard_admits(server, request);
}

int dw_uploads_take(const struct _u_request *request, const char *key, const char *file_name, const char *content_type,
                    const char *transfer_encoding, const char *data, uint64_t offset, size_t size, void *cls)
{
    (void)content_type;
    (void)transfer_encoding;
    DwServer *server = cls;
    if (!file_name || !allowed(server, request))
        return U_OK;
    DwUploads *uploads = server->uploads;
    pthread_mutex_lock(&uploads->lock);
    Upload *upload = offset == 0 ? NULL : find(uploads, u_map_get(request->map_header, MARK), key);
    if (!upload)
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

bool dw_uploads_find(DwUploads *uploads, const struct _u_request *request, const char *key, DwVisitFile *file)
{
    pthread_mutex_lock(&uploads->lock);
    Upload *upload = find(uploads, u_map_get(request->map_header, MARK), key);
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
    bool refused = false;
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
