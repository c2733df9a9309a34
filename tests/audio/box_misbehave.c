// SPDX-License-Identifier: MIT
// A program for the box that tries what a decoder that was taken over would: it answers 1 for what was done, 0 for what
// was refused, for each of its attempts.
#include "base/box.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <unistd.h>

static bool opens_socket(int family)
{
    return socket(family, SOCK_STREAM, 0) >= 0;
}

static bool writes(const char *path, int flags)
{
    return open(path, flags, 0600) >= 0;
}

static bool runs_another(void)
{
    char *const arguments[] = {"true", NULL};
    execv("/bin/true", arguments);
    return false; // had it run, the answers would end here
}

static bool takes_memory(void)
{
    return mmap(NULL, (size_t)4 << 30, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0) != MAP_FAILED;
}

static bool takes_limits_back(void)
{
    struct rlimit all = {RLIM_INFINITY, RLIM_INFINITY};
    return setrlimit(RLIMIT_CPU, &all) == 0;
}

int main(int count, char **arguments)
{
    static const DwBoxLimits limits = {.memory_most = (size_t)1 << 30, .seconds_most = 600, .files_most = 64};
    DwMessage message;
    const char *what = count > 1 ? arguments[1] : "", *path = count > 2 ? arguments[2] : "";
    dw_box_leave_network();
    char shut = dw_box_shut(&limits, &message) == DW_OK;
    if (!dw_box_write(&shut, 1))
        return EXIT_FAILURE;
    if (strcmp(what, "crash") == 0) {
        signal(SIGSEGV, SIG_DFL); // a sanitizer has its own
        raise(SIGSEGV);
    }
    if (strcmp(what, "stop") == 0)
        _exit(EXIT_FAILURE);
    const char did[] = {opens_socket(AF_INET),
                        opens_socket(AF_INET6),
                        opens_socket(AF_UNIX),
                        writes(path, O_WRONLY | O_CREAT),
                        writes("/dev/shm/deckwright-box", O_RDWR | O_CREAT),
                        kill(getppid(), 0) == 0,
                        unlink(path) == 0,
                        runs_another(),
                        takes_limits_back(),
                        takes_memory()};
    _exit(dw_box_write(did, sizeof did) ? EXIT_SUCCESS : EXIT_FAILURE);
}
