/*
 * Reference firmware: a 24-bit bridge converter on an ATmega328P at 16 MHz,
 * speaking the line protocol of README.md.
 *
 *   PD2 (INT0)  data of the converter; its falling edge tells a conversion
 *   PD4         clock of the converter (not PD3: that is the other interrupt pin)
 *   PD0, PD1    serial line, 8N1
 *
 * The interrupt of a conversion numbers it and stamps the clock; everything
 * else happens in the main loop, so printing delays no stamp. A conversion that
 * could not be read in time leaves a gap in the numbers.
 *
 *   avr-gcc -std=gnu11 -Os -Wall -mmcu=atmega328p -o loadcell.elf loadcell.c
 */
#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/pgmspace.h>
#include <avr/sleep.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <util/atomic.h>
#include <util/crc16.h>
#include <util/delay_basic.h>

#ifndef F_CPU
#define F_CPU 16000000UL
#endif
#ifndef BAUD
#define BAUD 115200UL /* above 300 samples/s take 250000, 500000 or 1000000 */
#endif
#ifndef SPS
#define SPS 80 /* as the converter's rate pin is set */
#endif
#ifndef ID
#define ID "LC-1" /* unique to the cell */
#endif
#ifndef NAME
#define NAME "reference cell"
#endif

#define TEXT2(x) #x
#define TEXT(x) TEXT2(x)

#define DATA (PIND & _BV(PD2))
#define CLOCK_HIGH() (PORTD |= _BV(PD4))
#define CLOCK_LOW() (PORTD &= ~_BV(PD4))

#define SETTLE 4 /* conversions that the filter needs after power-up */

/* The clock: timer 1 makes two ticks a microsecond, so that the overflow count
 * times 32768 plus half the timer wraps at 2^32 us. */
static volatile uint32_t overflows;

ISR(TIMER1_OVF_vect) { overflows++; }

/* Call with interrupts off. */
static uint32_t micros(void)
{
	uint16_t ticks = TCNT1;
	uint32_t over = overflows;
	if ((TIFR1 & _BV(TOV1)) && ticks < 0x8000)
		over++; /* it went over and the interrupt still waits */
	return over << 15 | ticks >> 1;
}

/* Conversions: number and time of the last one. */
static volatile uint16_t conversions;
static volatile uint32_t stamp;
static volatile uint8_t ready;

ISR(INT0_vect)
{
	stamp = micros();
	conversions++;
	ready = 1;
}

/* The serial line, outwards through a ring, inwards only the question mark. */
static volatile uint8_t ring[256];
static volatile uint8_t head, tail;
static volatile uint8_t asked;

ISR(USART_UDRE_vect)
{
	if (tail == head)
		UCSR0B &= ~_BV(UDRIE0);
	else
		UDR0 = ring[tail++];
}

ISR(USART_RX_vect)
{
	if (UDR0 == '?')
		asked = 1;
}

static void put(char c)
{
	uint8_t next = head + 1;
	while (next == tail)
		; /* the interrupt makes room */
	ring[head] = c;
	head = next;
	UCSR0B |= _BV(UDRIE0);
}

/* Sends a line with its checksum over text[from...]. */
static void send(const char *text, uint8_t from)
{
	static const char hex[] PROGMEM = "0123456789ABCDEF";
	uint16_t crc = 0xFFFF;
	for (const char *p = text; *p; p++) {
		if (p - text >= from)
			crc = _crc_xmodem_update(crc, *p);
		put(*p);
	}
	put('*');
	for (int8_t shift = 12; shift >= 0; shift -= 4)
		put(pgm_read_byte(&hex[crc >> shift & 15]));
	put('\n');
}

static void fact(const char *key, const char *value)
{
	char text[60] = "#";
	strcat_P(text, key);
	strcat(text, value);
	send(text, 0);
}

static uint16_t boots EEMEM = 0;
static uint16_t boot;

static void facts(void)
{
	char number[6];
	utoa(boot, number, 10);
	fact(PSTR("proto=1"), "");
	fact(PSTR("name=" NAME), "");
	fact(PSTR("id=" ID), "");
	fact(PSTR("fw=1"), "");
	fact(PSTR("boot="), number);
	fact(PSTR("sps=" TEXT(SPS)), "");
	fact(PSTR("gain=128"), "");
	fact(PSTR("adc_bits=24"), "");
	fact(PSTR("code=twos"), "");
	fact(PSTR("ready=1"), "");
}

/* Reads the conversion that waits; 25 pulses choose channel A at gain 128 for
 * the next one. The clock may be high for at most 50 us: interrupts are off
 * while it is. */
static int32_t convert(void)
{
	uint32_t bits = 0;
	EIMSK &= ~_BV(INT0); /* the data pin now carries bits */
	for (uint8_t i = 0; i < 25; i++) {
		ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
			CLOCK_HIGH();
			_delay_loop_1(5); /* 1 us */
			if (i < 24)
				bits = bits << 1 | (DATA != 0);
			CLOCK_LOW();
		}
		_delay_loop_1(5);
	}
	EIFR = _BV(INTF0);
	EIMSK |= _BV(INT0);
	return (int32_t)(bits << 8) >> 8;
}

static void sample(uint16_t seq, uint32_t t, int32_t counts)
{
	char text[40] = ":";
	utoa(seq, text + 1, 10);
	strcat(text, ",");
	ultoa(t, text + strlen(text), 10);
	strcat(text, ",");
	ltoa(counts, text + strlen(text), 10);
	send(text, 1);
}

int main(void)
{
	EICRA = _BV(ISC01) | _BV(ISC11); /* falling edges, never the low level */
	DDRD = _BV(PD4) | _BV(PD1);
	CLOCK_HIGH(); /* longer than 60 us: the converter starts anew and in step */
	TCCR1A = 0;
	TCCR1B = _BV(CS11);
	TIMSK1 = _BV(TOIE1);
	UCSR0A = _BV(U2X0);
	UBRR0 = (F_CPU + 4 * BAUD) / (8 * BAUD) - 1;
	UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
	UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
	_delay_loop_2(400); /* 100 us */
	CLOCK_LOW();

	boot = eeprom_read_word(&boots) + 1;
	eeprom_write_word(&boots, boot);
	EIFR = _BV(INTF0);
	EIMSK = _BV(INT0);
	sei();
	facts();

	uint8_t settle = SETTLE;
	uint32_t told = 0;
	uint16_t first = 0;
	for (;;) {
		uint16_t number;
		uint32_t t;
		cli();
		if (!ready && !asked) {
			sleep_enable();
			sei();
			sleep_cpu();
			sleep_disable();
			continue;
		}
		uint8_t waiting = ready;
		ready = 0;
		number = conversions;
		t = stamp;
		sei();
		if (waiting) {
			int32_t counts = convert();
			if (settle) {
				settle--;
				first = number + 1;
			} else {
				sample(number - first, t, counts);
			}
		}
		if (asked || t - told >= 10000000) {
			asked = 0;
			told = t;
			facts();
		}
	}
}
