/* The floor: every byte of each FILE is read and looked at once, newlines counted.
 * cc -O2 -o scan peer_scan.c && ./scan FILE... */
#include <fcntl.h>
#include <stdio.h>
#include <unistd.h>

static unsigned char buf[1 << 17];

int main(int argc, char **argv) {
  long lines = 0;
  for (int i = 1; i < argc; i++) {
    int fd = open(argv[i], O_RDONLY);
    ssize_t n;
    while ((n = read(fd, buf, sizeof buf)) > 0)
      for (ssize_t k = 0; k < n; k++) lines += buf[k] == '\n';
    close(fd);
  }
  printf("%ld\n", lines);
  return 0;
}
