/*
 * Runs the reference firmware on a simulated ATmega328P, plays its converter,
 * and shows its serial line as a pseudo-terminal. A test program of its own:
 * it is linked with a simulator under the GPL, and nothing of it goes into
 * griptrial.
 *
 *   gcc -O2 -Wall -I/usr/include/simavr -o peer peer.c -lsimavr -lm
 *   ./peer loadcell.elf 80
 *
 * It prints the path of the terminal and waits. Lines on its standard input
 * drive it: "go" starts the clock, "reset" resets the chip, and the end of input
 * ends it. The k-th conversion since "go" is -1234 + 100 k.
 */
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "avr_ioport.h"
#include "avr_uart.h"
#include "sim_avr.h"
#include "sim_elf.h"

#define F_CPU 16000000

static avr_t *avr;
static avr_irq_t *data_pin, *uart_in;
static int master;

/* The converter. */
static avr_cycle_count_t period, rose;
static int32_t conversion = 0;
static uint32_t shift;
static int pulses = 25; /* of the read under way; 25: none */

static avr_cycle_count_t convert(struct avr_t *a, avr_cycle_count_t when, void *param)
{
	(void)a, (void)param;
	shift = (uint32_t)(-1234 + 100 * conversion++);
	pulses = 0;
	avr_raise_irq(data_pin, 1);
	avr_raise_irq(data_pin, 0);
	return when + period;
}

static void clock_pin(struct avr_irq_t *irq, uint32_t value, void *param)
{
	(void)irq, (void)param;
	if (value && !rose) {
		rose = avr->cycle;
		pulses++;
		avr_raise_irq(data_pin, pulses > 24 ? 1 : shift >> (24 - pulses) & 1);
	} else if (!value && rose) {
		if (avr->cycle - rose > 60 * (F_CPU / 1000000))
			pulses = 25; /* it was powered down */
		rose = 0;
	}
}

/* The serial line: whole lines go to the terminal, and are dropped if nobody
 * makes room, as on a real one. */
static void sent(struct avr_irq_t *irq, uint32_t value, void *param)
{
	static char line[256];
	static size_t n;
	(void)irq, (void)param;
	line[n++] = (char)value;
	if (value == '\n' || n == sizeof line) {
		if (write(master, line, n) != (ssize_t)n)
			fprintf(stderr, "peer: a line was dropped\n");
		n = 0;
	}
}

static void no_sleep(avr_t *a, avr_cycle_count_t cycles) { (void)a, (void)cycles; }

static void start_converter(void)
{
	pulses = 25;
	rose = 0;
	avr_cycle_timer_register(avr, period, convert, NULL);
}

static void open_terminal(void)
{
	struct termios raw;
	master = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
	if (master < 0 || grantpt(master) || unlockpt(master)) {
		perror("peer: pseudo-terminal");
		exit(1);
	}
	int slave = open(ptsname(master), O_RDWR | O_NOCTTY); /* held open, or the reader could not come and go */
	if (slave < 0 || tcgetattr(slave, &raw)) {
		perror("peer: pseudo-terminal");
		exit(1);
	}
	cfmakeraw(&raw);
	tcsetattr(slave, TCSANOW, &raw);
	printf("%s\n", ptsname(master));
	fflush(stdout);
}

/* Takes one command; 0 at the end of input. */
static int command(char *word, size_t size)
{
	if (!fgets(word, size, stdin))
		return 0;
	word[strcspn(word, "\n")] = 0;
	return 1;
}

/* Holds the simulation to real time, one millisecond at a time. */
static void pace(uint64_t ms)
{
	static struct timespec start;
	if (!start.tv_sec)
		clock_gettime(CLOCK_MONOTONIC, &start);
	struct timespec until = start;
	until.tv_sec += ms / 1000;
	until.tv_nsec += ms % 1000 * 1000000;
	if (until.tv_nsec >= 1000000000) {
		until.tv_nsec -= 1000000000;
		until.tv_sec++;
	}
	while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &until, NULL) == EINTR)
		;
}

int main(int argc, char **argv)
{
	elf_firmware_t firmware;
	char word[32];
	uint32_t flags = 0;
	memset(&firmware, 0, sizeof firmware);
	if (argc != 3 || atoi(argv[2]) < 1 || elf_read_firmware(argv[1], &firmware)) {
		fprintf(stderr, "usage: peer FIRMWARE.elf SAMPLES_PER_SECOND\n");
		return 2;
	}
	avr = avr_make_mcu_by_name("atmega328p");
	if (!avr)
		return 1;
	avr_init(avr);
	firmware.frequency = F_CPU;
	avr_load_firmware(avr, &firmware);
	avr->frequency = F_CPU;
	avr->sleep = no_sleep; /* pace() holds the time */
	period = F_CPU / atoi(argv[2]);

	data_pin = avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('D'), 2);
	avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('D'), 4), clock_pin, NULL);
	avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), sent, NULL);
	uart_in = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT);
	avr_ioctl(avr, AVR_IOCTL_UART_GET_FLAGS('0'), &flags);
	flags &= ~(AVR_UART_FLAG_STDIO | AVR_UART_FLAG_POLL_SLEEP);
	avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);

	open_terminal();
	if (!command(word, sizeof word) || strcmp(word, "go"))
		return 0;
	start_converter();
	struct pollfd in = {.fd = 0, .events = POLLIN};
	for (uint64_t ms = 1;; ms++) {
		while (avr->cycle < ms * (F_CPU / 1000)) {
			int state = avr_run(avr);
			if (state == cpu_Done || state == cpu_Crashed) {
				fprintf(stderr, "peer: the chip stopped\n");
				return 1;
			}
		}
		pace(ms);
		char c;
		while (read(master, &c, 1) == 1)
			avr_raise_irq(uart_in, (uint8_t)c);
		if (poll(&in, 1, 0) > 0) {
			if (!command(word, sizeof word))
				return 0;
			if (!strcmp(word, "reset")) {
				avr_reset(avr);
				start_converter(); /* a reset wipes the cycle timers */
			}
		}
	}
}
