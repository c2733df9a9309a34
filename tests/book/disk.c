// SPDX-License-Identifier: MIT
#include "disk.h"

#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdint.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

static char root[PATH_MAX], kept[PATH_MAX]; // the folder, and where the copies are; "" while nothing is counted
static long acts, last_act;
static bool own; // the copying itself is not counted

#define REAL(type, name, ...) ((type(*)(__VA_ARGS__))(uintptr_t)dlsym(RTLD_NEXT, name))

static void end_here(void)
{
    raise(SIGKILL);
}

// Whether PATH lies on the disk; a name may come relative to nothing here, for the book uses whole paths.
static bool counts(const char *path)
{
    size_t length = strlen(root);
    return length && !own && strncmp(path, root, length) == 0 && (path[length] == '/' || !path[length]);
}

static bool counts_handle(int handle)
{
    char link[64], path[PATH_MAX];
    if (!*root || own)
        return false;
    snprintf(link, sizeof link, "/proc/self/fd/%d", handle);
    ssize_t length = readlink(link, path, sizeof path - 1);
    path[length > 0 ? length : 0] = '\0';
    return counts(path);
}

// Whether the act that begins now is the last one.
static bool is_last(void)
{
    acts++;
    return last_act && acts >= last_act;
}

static void copy_name(char path[PATH_MAX], const struct stat *status)
{
    if (snprintf(path, PATH_MAX, "%s/%llu", kept, (unsigned long long)status->st_ino) >= PATH_MAX)
        abort();
}

static void write_whole(int to, const char *bytes, ssize_t length)
{
    ssize_t (*real)(int, const void *, size_t) = REAL(ssize_t, "write", int, const void *, size_t);
    while (length > 0) {
        ssize_t written = real(to, bytes, (size_t)length);
        if (written < 0)
            abort();
        bytes += written;
        length -= written;
    }
}

// Reads by the handle itself where that may be read: opening and closing a database anew would drop its locks.
static void pour(int handle, int to)
{
    char bytes[1 << 16], link[64];
    int from = handle, flags = fcntl(handle, F_GETFL);
    if ((flags & O_ACCMODE) == O_WRONLY) {
        snprintf(link, sizeof link, "/proc/self/fd/%d", handle);
        from = open(link, O_RDONLY | O_CLOEXEC);
    }
    ssize_t got;
    for (off_t at = 0; (got = pread(from, bytes, sizeof bytes, at)) > 0; at += got)
        write_whole(to, bytes, got);
    if (from != handle)
        close(from);
}

// The names in the folder of HANDLE: "f 1234 name" or "d 1234 name".
static void list(int handle, int to)
{
    int again = openat(handle, ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    DIR *entries = fdopendir(again);
    for (const struct dirent *entry = readdir(entries); entry; entry = readdir(entries)) {
        struct stat status;
        char line[PATH_MAX];
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0 ||
            fstatat(handle, entry->d_name, &status, AT_SYMLINK_NOFOLLOW) != 0)
            continue;
        int length = snprintf(line, sizeof line, "%c %llu %s\n", S_ISDIR(status.st_mode) ? 'd' : 'f',
                              (unsigned long long)status.st_ino, entry->d_name);
        write_whole(to, line, length);
    }
    closedir(entries);
}

// What is forced is copied under a name of its own first: the copy, too, is whole or the one before.
static void keep(int handle)
{
    struct stat status;
    char path[PATH_MAX], part[PATH_MAX + 8];
    own = true;
    fstat(handle, &status);
    copy_name(path, &status);
    snprintf(part, sizeof part, "%s.part", path);
    int to = open(part, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    if (S_ISDIR(status.st_mode))
        list(handle, to);
    else
        pour(handle, to);
    close(to);
    rename(part, path);
    own = false;
}

// A file that loses its last name stays in the grave, so that no other gets its number.
static void bury(const char *path)
{
    struct stat status;
    char grave[PATH_MAX + 32];
    if (stat(path, &status) != 0 || !S_ISREG(status.st_mode))
        return;
    snprintf(grave, sizeof grave, "%s/grave-%llu", kept, (unsigned long long)status.st_ino);
    if (link(path, grave) != 0 && errno != EEXIST)
        abort();
}

// The calls that are replaced, each by its name in the library.
ssize_t disk_write(int, const void *, size_t) __asm__("write");
ssize_t disk_pwrite(int, const void *, size_t, off_t) __asm__("pwrite");
ssize_t disk_pwrite64(int, const void *, size_t, off_t) __asm__("pwrite64");
int disk_fsync(int) __asm__("fsync");
int disk_fdatasync(int) __asm__("fdatasync");
int disk_ftruncate(int, off_t) __asm__("ftruncate");
int disk_ftruncate64(int, off_t) __asm__("ftruncate64");
int disk_rename(const char *, const char *) __asm__("rename");
int disk_renameat2(int, const char *, int, const char *, unsigned) __asm__("renameat2");
int disk_unlink(const char *) __asm__("unlink");
int disk_mkdir(const char *, mode_t) __asm__("mkdir");

ssize_t disk_write(int handle, const void *bytes, size_t count)
{
    ssize_t (*real)(int, const void *, size_t) = REAL(ssize_t, "write", int, const void *, size_t);
    if (counts_handle(handle) && is_last()) {
        real(handle, bytes, count / 2);
        end_here();
    }
    return real(handle, bytes, count);
}

static ssize_t write_at(const char *name, int handle, const void *bytes, size_t count, off_t at)
{
    ssize_t (*real)(int, const void *, size_t, off_t) = REAL(ssize_t, name, int, const void *, size_t, off_t);
    if (counts_handle(handle) && is_last()) {
        real(handle, bytes, count / 2, at);
        end_here();
    }
    return real(handle, bytes, count, at);
}

ssize_t disk_pwrite(int handle, const void *bytes, size_t count, off_t at)
{
    return write_at("pwrite", handle, bytes, count, at);
}

ssize_t disk_pwrite64(int handle, const void *bytes, size_t count, off_t at)
{
    return write_at("pwrite64", handle, bytes, count, at);
}

static int force(int handle)
{
    if (!counts_handle(handle))
        return 0; // another disk is none of ours, and nothing is measured here
    if (is_last())
        end_here();
    keep(handle);
    return 0;
}

int disk_fsync(int handle)
{
    return force(handle);
}

int disk_fdatasync(int handle)
{
    return force(handle);
}

static int cut(const char *name, int handle, off_t length)
{
    if (counts_handle(handle) && is_last())
        end_here();
    return REAL(int, name, int, off_t)(handle, length);
}

int disk_ftruncate(int handle, off_t length)
{
    return cut("ftruncate", handle, length);
}

int disk_ftruncate64(int handle, off_t length)
{
    return cut("ftruncate64", handle, length);
}

int disk_rename(const char *from, const char *to)
{
    if (counts(from)) {
        if (is_last())
            end_here();
        bury(to);
    }
    return REAL(int, "rename", const char *, const char *)(from, to);
}

int disk_renameat2(int from_folder, const char *from, int to_folder, const char *to, unsigned flags)
{
    if (counts(from) && is_last())
        end_here();
    return REAL(int, "renameat2", int, const char *, int, const char *, unsigned)(from_folder, from, to_folder, to,
                                                                                  flags);
}

int disk_unlink(const char *path)
{
    if (counts(path)) {
        if (is_last())
            end_here();
        bury(path);
    }
    return REAL(int, "unlink", const char *)(path);
}

int disk_mkdir(const char *path, mode_t mode)
{
    if (counts(path) && is_last())
        end_here();
    return REAL(int, "mkdir", const char *, mode_t)(path, mode);
}

void disk_begin(const char *folder, long last)
{
    *root = '\0';
    snprintf(kept, sizeof kept, "%s-forced", folder);
    mkdir(kept, 0700);
    acts = 0;
    last_act = last;
    snprintf(root, sizeof root, "%s", folder);
    int handle = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    keep(handle);
    close(handle);
}

void disk_begin_again(long last)
{
    acts = 0;
    last_act = last;
}

long disk_acts(void)
{
    return acts;
}

static void copy_file(const char *from, const char *to)
{
    int source = open(from, O_RDONLY | O_CLOEXEC), target = open(to, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    if (source >= 0) {
        pour(source, target);
        close(source);
    }
    close(target);
}

static void rebuild(const char *copies, const char *number, const char *target)
{
    char path[PATH_MAX], line[PATH_MAX];
    mkdir(target, 0700);
    snprintf(path, sizeof path, "%s/%s", copies, number);
    FILE *names = fopen(path, "r");
    while (names && fgets(line, sizeof line, names)) {
        char kind, which[32], name[NAME_MAX + 1], to[PATH_MAX], from[PATH_MAX];
        if (sscanf(line, "%c %31s %255[^\n]", &kind, which, name) != 3 ||
            snprintf(to, sizeof to, "%s/%s", target, name) < 0 ||
            snprintf(from, sizeof from, "%s/%s", copies, which) < 0)
            abort();
        if (kind == 'd')
            rebuild(copies, which, to);
        else
            copy_file(from, to);
    }
    if (names)
        fclose(names);
}

void disk_lose_power(const char *folder, const char *target)
{
    struct stat status;
    char copies[PATH_MAX], number[32];
    *root = '\0';
    if (stat(folder, &status) != 0)
        abort();
    snprintf(copies, sizeof copies, "%s-forced", folder);
    snprintf(number, sizeof number, "%llu", (unsigned long long)status.st_ino);
    rebuild(copies, number, target);
}
