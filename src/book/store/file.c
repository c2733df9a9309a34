// SPDX-License-Identifier: MIT
// Files that are there whole or not at all: written under a temporary name,
// forced to the disk, then renamed.
#include "base/memory.h"
#include "base/text.h"
#include "book/store/private.h"

#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { CHUNK = 1 << 16 };

// The folder that the entry PATH stands in. The caller frees it with free().
static char *parent_of(const char *path)
{
    size_t length = strlen(path);
    while (length > 1 && path[length - 1] == '/')
        length--;
    while (length > 0 && path[length - 1] != '/')
        length--;
    return length ? dw_text_format("%.*s", (int)length, path) : dw_memory_text(".");
}

int dw_file_settle_entry(const char *path)
{
    char *parent = parent_of(path);
    int error = dw_file_settle(parent);
    free(parent);
    return error;
}

int dw_file_make_folder(const char *folder)
{
    if (mkdir(folder, 0700) == 0)
        return dw_file_settle_entry(folder);
    return errno == EEXIST ? 0 : errno;
}

int dw_file_make_folders(const char *folder)
{
    int error = dw_file_make_folder(folder);
    char *parent = error == ENOENT ? parent_of(folder) : NULL;
    if (parent && strcmp(parent, folder) != 0 && strcmp(parent, ".") != 0) {
        error = dw_file_make_folders(parent);
        if (!error)
            error = dw_file_make_folder(folder);
    }
    free(parent);
    return error;
}

int dw_file_settle(const char *folder)
{
    int handle = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (handle < 0)
        return errno;
    int error = fsync(handle) == 0 ? 0 : errno;
    close(handle);
    return error;
}

static int write_all(int handle, const char *bytes, size_t length)
{
    while (length > 0) {
        ssize_t written = write(handle, bytes, length);
        if (written < 0 && errno == EINTR)
            continue;
        if (written < 0)
            return errno;
        bytes += written;
        length -= (size_t)written;
    }
    return 0;
}

// Gives the closed file PART its NAME in FOLDER, or removes it when ERROR says so.
static int settle_part(int error, const char *part, const char *folder, const char *name)
{
    char *path = dw_text_format("%s/%s", folder, name);
    if (!error && rename(part, path) != 0)
        error = errno;
    if (!error)
        error = dw_file_settle(folder);
    if (error)
        unlink(part);
    free(path);
    return error;
}

int dw_file_write(const char *folder, const char *name, const void *bytes, size_t length)
{
    char *part = dw_text_format("%s/%s.part", folder, name);
    int handle = open(part, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    int error = handle < 0 ? errno : write_all(handle, bytes, length);
    if (!error && fsync(handle) != 0)
        error = errno;
    if (handle >= 0 && close(handle) != 0 && !error)
        error = errno;
    error = settle_part(error, part, folder, name);
    free(part);
    return error;
}

static void write_digest(crypto_hash_sha256_state *state, char *digest)
{
    unsigned char hash[crypto_hash_sha256_BYTES];
    crypto_hash_sha256_final(state, hash);
    sodium_bin2hex(digest, 2 * sizeof hash + 1, hash, sizeof hash);
}

// Reads FROM to its end, hashing, and writes it to TO unless that is -1.
static int pour(int from, int to, char *digest, int64_t *size)
{
    crypto_hash_sha256_state state;
    crypto_hash_sha256_init(&state);
    char *chunk = dw_memory_new(CHUNK, 1);
    int64_t total = 0;
    int error = 0;
    for (;;) {
        ssize_t got = read(from, chunk, CHUNK);
        if (got < 0 && errno == EINTR)
            continue;
        if (got <= 0) {
            error = got < 0 ? errno : 0;
            break;
        }
        crypto_hash_sha256_update(&state, (const unsigned char *)chunk, (unsigned long long)got);
        total += got;
        error = to >= 0 ? write_all(to, chunk, (size_t)got) : 0;
        if (error)
            break;
    }
    free(chunk);
    if (digest)
        write_digest(&state, digest);
    if (size)
        *size = total;
    return error;
}

int dw_file_copy(const char *from, const char *folder, const char *name, char *digest, int64_t *size)
{
    int source = open(from, O_RDONLY | O_CLOEXEC);
    if (source < 0)
        return errno;
    char *part = dw_text_format("%s/%s.part", folder, name);
    int handle = open(part, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    int error = handle < 0 ? errno : pour(source, handle, digest, size);
    if (!error && fsync(handle) != 0)
        error = errno;
    if (handle >= 0 && close(handle) != 0 && !error)
        error = errno;
    close(source);
    error = settle_part(error, part, folder, name);
    free(part);
    return error;
}

int dw_file_digest(const char *path, char *digest, int64_t *size)
{
    int handle = open(path, O_RDONLY | O_CLOEXEC);
    if (handle < 0)
        return errno;
    int error = pour(handle, -1, digest, size);
    close(handle);
    return error;
}
