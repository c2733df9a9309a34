// SPDX-License-Identifier: MIT
// Files that come in pieces, so that a connection that breaks costs one piece and not the whole. What came stays on the
// disk for a day, over a restart of the bench too; a form then names it instead of bringing it.
#include "web/server/private.h"

#include "base/memory.h"
#include "base/text.h"
#include "web/server/access.h"
#include "web/server/route.h"
#include "web/server/words.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { KEPT_SECONDS = 24 * 3600, KEPT_MOST = 64 };
static const uint64_t most_bytes = 2ull << 30; // of one file, as of one that comes at once

static char *folder_of(const DwServer *server)
{
    return dw_text_format("%s/arriving", server->folder);
}

// Where the file called KEY lies, NULL for what is no key. The caller frees it with free().
static char *path_of(const DwServer *server, const char *key)
{
    if (!dw_text_is_figures(key, 64))
        return NULL;
    return dw_text_format("%s/arriving/%s", server->folder, key);
}

// Removes what is older than a day and, where there are too many, the oldest.
static void sweep(const char *folder)
{
    DIR *directory = opendir(folder);
    char *oldest = NULL;
    time_t age = 0;
    size_t count = 0;
    for (const struct dirent *entry = directory ? readdir(directory) : NULL; entry; entry = readdir(directory)) {
        struct stat about;
        if (entry->d_name[0] == '.')
            continue;
        char *path = dw_text_format("%s/%s", folder, entry->d_name);
        bool there = stat(path, &about) == 0;
        if (there && time(NULL) - about.st_mtime > KEPT_SECONDS)
            unlink(path);
        else if (there) {
            count++;
            if (!oldest || about.st_mtime < age) {
                free(oldest);
                oldest = dw_memory_text(path);
                age = about.st_mtime;
            }
        }
        free(path);
    }
    if (count >= KEPT_MOST)
        unlink(oldest);
    free(oldest);
    if (directory)
        closedir(directory);
}

static DwAnswer say_where(const char *key, uint64_t at)
{
    char *json =
        dw_text_format("{\"kept\": true, \"words\": \"\", \"key\": \"%s\", \"at\": %llu}", key, (unsigned long long)at);
    return dw_answer_bytes("application/json", json, strlen(json));
}

static DwAnswer refuse_gone(void)
{
    return dw_answer_refusal(404, _("The bench has nothing of this file any more. It is sent from its beginning."));
}

static DwAnswer begin(const DwWebRequest *request)
{
    char key[65], *folder = folder_of(request->server);
    if (strtoull(dw_request_field(request, "bytes"), NULL, 10) > most_bytes) {
        free(folder);
        return dw_answer_refusal(413, _("A file of more than 2 GB is not taken. Nothing was changed."));
    }
    dw_access_token(key);
    mkdir(folder, 0700);
    sweep(folder);
    char *path = path_of(request->server, key);
    int file = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (file >= 0)
        close(file);
    free(path);
    free(folder);
    return file < 0 ? dw_answer_refusal(500, _("The bench cannot write to its disk. Nothing was changed."))
                    : say_where(key, 0);
}

static DwAnswer tell(const DwWebRequest *request)
{
    const char *key = dw_request_path(request, "key");
    char *path = path_of(request->server, key);
    struct stat about;
    bool there = path && stat(path, &about) == 0;
    free(path);
    return there ? say_where(key, (uint64_t)about.st_size) : refuse_gone();
}

// Writes all of the file at FROM behind what INTO holds.
static bool append(int into, const char *from)
{
    char bytes[1 << 16];
    FILE *file = fopen(from, "re");
    bool well = file != NULL;
    size_t got = 0;
    while (well && (got = fread(bytes, 1, sizeof bytes, file)) > 0)
        for (size_t done = 0; well && done < got;) {
            ssize_t wrote = write(into, bytes + done, got - done);
            well = wrote > 0 || (wrote < 0 && errno == EINTR);
            done += wrote > 0 ? (size_t)wrote : 0;
        }
    well = well && !ferror(file);
    if (file)
        fclose(file);
    return well;
}

// Takes a piece that begins where the file ends; of any other it says where that is.
static DwAnswer take_piece(const DwWebRequest *request, const char *key, int file)
{
    DwSentFile piece;
    struct stat about;
    uint64_t at = strtoull(dw_request_field(request, "at"), NULL, 10);
    if (flock(file, LOCK_EX) != 0 || fstat(file, &about) != 0)
        return dw_answer_refusal(500, _("The bench cannot write to its disk. Nothing was changed."));
    uint64_t size = (uint64_t)about.st_size;
    if (!dw_request_file(request, "piece", &piece) || at != size)
        return say_where(key, size);
    if (size + piece.bytes > most_bytes)
        return dw_answer_refusal(413, _("A file of more than 2 GB is not taken. Nothing was changed."));
    if (lseek(file, 0, SEEK_END) < 0 || !append(file, piece.path)) {
        if (ftruncate(file, about.st_size) != 0)
            return refuse_gone();
        return dw_answer_refusal(507, _("The bench's disk is full. What came before is kept for a day."));
    }
    return say_where(key, size + piece.bytes);
}

static DwAnswer take(const DwWebRequest *request)
{
    const char *key = dw_request_path(request, "key");
    char *path = path_of(request->server, key);
    int file = path ? open(path, O_RDWR | O_CLOEXEC) : -1;
    free(path);
    if (file < 0)
        return refuse_gone();
    DwAnswer answer = take_piece(request, key, file);
    close(file); // and with it the lock
    return answer;
}

const DwUpload *dw_arriving_find(const DwWebRequest *request, const char *field)
{
    char *sent = dw_text_format("%s.sent", field), *name = dw_text_format("%s.name", field),
         *bytes = dw_text_format("%s.bytes", field);
    char *path = path_of(request->server, dw_request_field(request, sent));
    struct stat about;
    const DwUpload *upload = NULL;
    // A file that is not there whole is none.
    if (path && stat(path, &about) == 0 && about.st_size > 0 &&
        strtoull(dw_request_field(request, bytes), NULL, 10) == (uint64_t)about.st_size)
        upload = dw_upload_adopt(request->server->uploads, &request->incoming->uploads, field,
                                 dw_request_field(request, name), path, (uint64_t)about.st_size);
    free(path);
    free(sent);
    free(name);
    free(bytes);
    return upload;
}

const DwWebRoute dw_routes_arriving[] = {
    {"POST", "/arriving", begin, false},
    {"GET", "/arriving/:key", tell, false},
    {"POST", "/arriving/:key", take, false},
    {0},
};
