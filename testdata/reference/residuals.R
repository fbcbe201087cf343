# Reference values for residuals, block effects, wear by facing and budgets.
# Made with R 4.x (base packages and survival); run: Rscript residuals.R > residuals.csv
# It prints its versions to stderr and a table of name,value to stdout.
suppressPackageStartupMessages(library(survival))
message(R.version.string, ", survival ", packageVersion("survival"))
say <- function(name, value) cat(sprintf("%s,%.12g\n", name, value))
cat("name,value\n")

# Eight pulls of two facings in two blocks; forces invented, clamp 1000 N, two faces.
d <- data.frame(
  facing = factor(rep(c("steel", "P240"), 4), levels = c("steel", "P240")),
  block = factor(rep(c("1", "2"), each = 4)),
  clampings = c(0, 0, 1, 1, 2, 3, 4, 3),
  force = c(310, 842, 301, 810, 322, 795, 318, 801))
d$y <- log(d$force / 2000)

# Residuals of the least-squares fit, and Blom's normal scores (ppoints, a = 3/8).
m <- lm(y ~ facing + block, d)
r <- residuals(m)
s <- qnorm(ppoints(8, a = 3/8))[rank(r)]
for (i in 1:8) { say(sprintf("residual.%d", i), r[i]); say(sprintf("score.%d", i), s[i]) }

# Block effects about their mean (sum contrasts), with 95 % intervals.
e <- lm(y ~ facing + block, d, contrasts = list(block = "contr.sum"))
ci <- exp(confint(e)["block1", ])
say("block.1.ratio", exp(coef(e)["block1"])); say("block.1.lower", ci[1]); say("block.1.upper", ci[2])

# Wear of each facing on its own, beside facing and block; Bonferroni for two.
w <- lm(y ~ facing + block + facing:clampings, d)
k <- coef(summary(w)); ci <- confint(w, level = 1 - 0.05 / 2)
for (f in c("steel", "P240")) {
  n <- sprintf("facing%s:clampings", f)
  say(sprintf("wear.%s.slope", f), k[n, 1]); say(sprintf("wear.%s.lower", f), ci[n, 1]); say(sprintf("wear.%s.upper", f), ci[n, 2])
  say(sprintf("wear.%s.p", f), min(1, 2 * k[n, 4]))
}

# Plotting positions with held values (Michael and Schucany): a product over the
# ordered sample, written from the risk sets of the survival package.
x <- c(1, 2, 3, 4, 5, 6, 7); held <- c(FALSE, FALSE, TRUE, FALSE, TRUE, FALSE, TRUE)
f <- summary(survfit(Surv(x, !held) ~ 1)); n <- 7; c0 <- 3/8
risk <- f$n.risk                       # n - j + 1 at each exact value
p <- 1 - (n - c0 + 1) / (n - 2 * c0 + 1) * cumprod((risk - c0) / (risk - c0 + 1))
for (i in seq_along(p)) say(sprintf("held.score.%d", f$time[i]), qnorm(p[i]))

# The band of five ordered normal values: order statistics of a uniform sample.
for (i in c(1, 3, 5)) { say(sprintf("band.%d.lower", i), qnorm(qbeta(0.025, i, 6 - i))); say(sprintf("band.%d.upper", i), qnorm(qbeta(0.975, i, 6 - i))) }

# Budget of steel's mu from a handle weight: own pulls, thread 0.10..0.20,
# collar 0.10..0.14, scale 0.5 %; first order, derivatives by central differences.
torque <- function(f, fc, d = 0.018, lead = 0.004, flank = 15 * pi / 180, collar = 0.024)
  d / 2 * (lead / (pi * d) + f / cos(flank)) / (1 - f / cos(flank) * lead / (pi * d)) + fc * collar / 2
y <- d$y[d$facing == "steel"]; se <- sd(y) / sqrt(4)
dk <- function(g, at, u) (g(at + 1e-6) - g(at - 1e-6)) / 2e-6 * u / g(at)
ut <- abs(dk(function(v) torque(v, 0.12), 0.15, 0.10 / sqrt(12)))
uc <- abs(dk(function(v) torque(0.15, v), 0.12, 0.04 / sqrt(12)))
u <- sqrt(se^2 + ut^2 + uc^2 + 0.005^2)
say("budget.pulls", se); say("budget.thread", ut); say("budget.collar", uc); say("budget.u", u)
df <- u^4 / (se^4 / 3); say("budget.df", df); say("budget.k", qt(0.975, df))
