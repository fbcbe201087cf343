#!/usr/bin/env Rscript
# Random small studies and what R makes of them, for the tests of analysis.
# R 4.2.2; lme4 1.1-31, lmerTest 3.1-3, survival 3.5-3.
# Writes studies/*.csv (readings) and studies.csv (study,key,value).
# Run in this folder: Rscript studies.R
suppressMessages({library(lme4); library(lmerTest); library(survival)})
set.seed(20261125)
out <- file("studies.csv", "w")
cat("# made by studies.R: R 4.2.2, lme4 1.1-31, lmerTest 3.1-3, survival 3.5-3\nstudy,key,value\n", file = out)
put <- function(study, key, value) cat(sprintf("%s,%s,%.15g\n", study, key, value), file = out, sep = "")

make <- function(name, facings, samples, pulls, blocks = 1, tau = 0, hold = NA, division = NA, drop = 0, unequal = FALSE) {
  d <- expand.grid(pull = seq_len(pulls), s = seq_len(samples), f = seq_len(facings))
  d$facing <- c("steel", "P240", "urethane", "serrated", "rubber")[d$f]
  d$sample <- paste0("s", d$s)
  d$block <- paste0("day", (seq_len(nrow(d)) * 7) %% blocks + 1)
  d$clamp <- c(1500, 2500, 4000)[sample(3, nrow(d), TRUE)]
  key <- paste(d$facing, d$sample)
  u <- setNames(rnorm(length(unique(key)), 0, tau), unique(key))
  b <- setNames(rnorm(blocks, 0, 0.05), paste0("day", seq_len(blocks)))
  sd <- if (unequal) c(0.02, 0.1, 0.3, 0.05, 0.05)[d$f] else 0.1
  mu <- c(0.12, 0.31, 0.26, 0.2, 0.4)[d$f] * exp(u[key] + b[d$block] + rnorm(nrow(d), 0, sd))
  d$force <- signif(2 * d$clamp * mu, 6)
  d$order <- sample(nrow(d))
  d$clampings <- rpois(nrow(d), 4)
  if (drop > 0) d <- d[-sample(nrow(d), drop), ]
  d <- d[order(d$f, d$order), ]
  d$outcome <- "slipped"
  if (!is.na(hold)) {
    d$outcome[d$force > hold] <- "held"
    d$force <- pmin(d$force, hold)
  }
  d$division <- ""
  if (!is.na(division)) {
    d$force <- round(d$force / division) * division
    d$division <- division
  }
  cols <- c("facing", "force", "clamp", "outcome", "division", "block", "sample", "order", "clampings")
  heads <- c("facing", "force [N]", "clamp [N]", "outcome", "division [N]", "block", "sample", "order", "clampings")
  if (is.na(division)) { k <- cols != "division"; cols <- cols[k]; heads <- heads[k] }
  if (blocks == 1) { k <- cols != "block"; cols <- cols[k]; heads <- heads[k] }
  if (samples == 1) { k <- cols != "sample"; cols <- cols[k]; heads <- heads[k] }
  w <- d[, cols]; names(w) <- heads
  write.csv(w, file.path("studies", paste0(name, ".csv")), row.names = FALSE, quote = FALSE)
  d$facing <- factor(d$facing, levels = unique(d$facing))
  d$block <- factor(d$block, levels = unique(d$block))
  d$sample <- factor(paste(d$facing, d$sample))
  half <- if (is.na(division)) 0 else division / 2
  d$y <- log(d$force / (2 * d$clamp))
  d$lo <- ifelse(d$outcome == "held", d$y, log((d$force - half) / (2 * d$clamp))) # held: censored at its force
  d$hi <- log((d$force + half) / (2 * d$clamp))
  d
}

# Upper tails by double quadrature, the complement integrated as it is: R's own ptukey loses digits below 1e-5 and at
# small df, and multcomp's critical values are good to 3e-4 only.
quad <- function(f, a, b) integrate(f, a, b, rel.tol = 1e-9, abs.tol = 0, subdivisions = 500, stop.on.error = FALSE)$value
average <- function(q, df, beyond) {
  f <- function(s) exp(log(2) + df / 2 * log(df / 2) - lgamma(df / 2) + (df - 1) * log(s) - df * s^2 / 2)
  g <- function(s) sapply(s, function(s) f(s) * beyond(q * s))
  cuts <- sort(unique(c(0, 1 / (1 + q) * c(0.5, 1, 2, 4, 8), 1 + seq(-6, 12, 2) / sqrt(2 * df))))
  cuts <- cuts[cuts >= 0]
  sum(mapply(function(a, b) quad(g, a, b), head(cuts, -1), tail(cuts, -1)))
}
dunnett <- function(d, load, df) average(d, df, function(h) {
  r <- sqrt(1 - load^2)
  f <- function(y) sapply(y, function(y) dnorm(y) * -expm1(sum(log1p(-pnorm((load * y - h) / r) - pnorm(-(load * y + h) / r)))))
  2 * sum(mapply(function(a, b) quad(f, a, b), c(0, 2, 5), c(2, 5, 12)))
})
tukey <- function(q, k, df) average(q, df, function(w) {
  f <- function(z) { b <- pnorm(-z); dnorm(z) * b^(k - 1) * -expm1((k - 1) * log1p(-pnorm(-z - w) / b)) }
  cuts <- -w / 2 + c(-8 - w / 2, -4, -2, 0, 2, 4, 8 + w / 2)
  k * sum(mapply(function(a, b) quad(f, a, b), head(cuts, -1), tail(cuts, -1)))
})

brown <- function(y, g) anova(lm(abs(y - ave(y, g, FUN = median)) ~ g))

slopes <- function(name, fit, d) {
  for (v in list(c("proportionality", "lc", 1), c("drift", "order", 0), c("wear", "clampings", 0))) {
    d$lc <- log(d$clamp); d$x <- d[[v[2]]]
    m <- fit(d); plus <- as.numeric(v[3])
    if (inherits(m, "lm")) { s <- summary(m)$coefficients["x", ]; ci <- confint(m)["x", ] }
    else { s <- summary(m)$coefficients["x", c(1, 2, 4, 5)]; df <- summary(m)$coefficients["x", 3]; ci <- s[1] + c(-1, 1) * qt(0.975, df) * s[2] }
    put(name, paste0(v[1], ".slope"), s[1] + plus); put(name, paste0(v[1], ".p"), s[4])
    put(name, paste0(v[1], ".lower"), ci[1] + plus); put(name, paste0(v[1], ".upper"), ci[2] + plus)
  }
}

own <- function(name, d) for (f in levels(d$facing)) {
  y <- d$y[d$facing == f]; t <- t.test(y)
  put(name, paste0("mu.", f), exp(mean(y))); put(name, paste0("mu_lower.", f), exp(t$conf.int[1]))
  put(name, paste0("mu_upper.", f), exp(t$conf.int[2])); put(name, paste0("log_sd.", f), sd(y))
  n <- length(y)
  put(name, paste0("tolerance95.", f), exp(mean(y) - sd(y) * qt(0.95, n - 1, qnorm(0.95) * sqrt(n)) / sqrt(n)))
}

groups <- function(name, d) {
  w <- oneway.test(y ~ facing, d); k <- kruskal.test(y ~ facing, d); b <- brown(d$y, d$facing)
  put(name, "welch.statistic", w$statistic); put(name, "welch.df2", w$parameter[2]); put(name, "welch.p", w$p.value)
  put(name, "kruskal.statistic", k$statistic); put(name, "kruskal.p", k$p.value)
  put(name, "brown.statistic", b[1, 4]); put(name, "brown.p", b[1, 5])
  for (p in combn(levels(d$facing), 2, simplify = FALSE)) {
    u <- d$y[d$facing == p[1]]; v <- d$y[d$facing == p[2]]
    t <- t.test(v, u); df <- t$parameter
    put(name, sprintf("games_howell.%s.%s", p[1], p[2]), tukey(abs(t$statistic) * sqrt(2), nlevels(d$facing), df))
  }
}

ols <- function(name, d) {
  blocked <- nlevels(d$block) > 1
  base <- if (blocked) y ~ facing + block else y ~ facing
  m <- lm(base, d); k <- nlevels(d$facing); df <- m$df.residual
  put(name, "loglik", logLik(m)); put(name, "sigma", sigma(m)); put(name, "anova.f", anova(lm(if (blocked) y ~ block else y ~ 1, d), m)[2, 5])
  s <- summary(m)$coefficients; ci <- confint(m); V <- vcov(m)[2:k, 2:k, drop = FALSE]
  n <- table(d$facing)
  load <- if (k == 2) NA else if (!blocked) sqrt(n[-1] / (n[-1] + n[1])) else if (k == 3) rep(sqrt(cov2cor(V)[1, 2]), 2) else NULL
  for (f in levels(d$facing)[-1]) {
    r <- paste0("facing", f)
    if (!blocked && brown(d$y, d$facing)[1, 5] < 0.01) { # each facing with its own spread: Welch
      w <- t.test(d$y[d$facing == f], d$y[d$facing == levels(d$facing)[1]])
      put(name, paste0("ratio.", f), exp(s[r, 1])); put(name, paste0("single_p.", f), w$p.value); put(name, paste0("df.", f), w$parameter)
      put(name, paste0("single_lower.", f), exp(w$conf.int[1])); put(name, paste0("single_upper.", f), exp(w$conf.int[2]))
      next
    }
    put(name, paste0("ratio.", f), exp(s[r, 1])); put(name, paste0("single_p.", f), s[r, 4]); put(name, paste0("df.", f), df)
    put(name, paste0("single_lower.", f), exp(ci[r, 1])); put(name, paste0("single_upper.", f), exp(ci[r, 2]))
    if (k > 2 && !is.null(load)) put(name, paste0("dunnett_p.", f), dunnett(abs(s[r, 3]), as.numeric(load), df))
  }
  C <- vcov(m); b <- coef(m)
  for (p in combn(levels(d$facing), 2, simplify = FALSE)) {
    l <- setNames(rep(0, length(b)), names(b))
    for (i in 1:2) if (p[i] != levels(d$facing)[1]) l[paste0("facing", p[i])] <- c(-1, 1)[i]
    est <- sum(l * b); se <- sqrt(drop(l %*% C %*% l)); q <- qtukey(0.95, k, df) / sqrt(2)
    put(name, sprintf("tukey_ratio.%s.%s", p[1], p[2]), exp(est))
    put(name, sprintf("tukey_p.%s.%s", p[1], p[2]), tukey(abs(est / se) * sqrt(2), k, df))
    put(name, sprintf("tukey_lower.%s.%s", p[1], p[2]), exp(est - q * se))
  }
  sw <- shapiro.test(residuals(m)); put(name, "shapiro.statistic", sw$statistic); put(name, "shapiro.p", sw$p.value)
  slopes(name, function(d) lm(update(base, . ~ . + x), d), d)
  own(name, d); groups(name, d)
}

reml <- function(name, d) {
  blocked <- nlevels(d$block) > 1
  base <- if (blocked) y ~ facing + block + (1 | sample) else y ~ facing + (1 | sample)
  ctl <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-9, maxfun = 1e5), check.conv.singular = "ignore")
  m <- lmerTest::lmer(base, d, control = ctl)
  v <- as.data.frame(VarCorr(m))
  put(name, "loglik", logLik(m)); put(name, "sigma", sigma(m)); put(name, "tau", v$sdcor[1])
  singular <- isSingular(m); put(name, "singular", as.numeric(singular))
  s <- summary(m)$coefficients
  for (f in levels(d$facing)[-1]) {
    r <- paste0("facing", f)
    put(name, paste0("ratio.", f), exp(s[r, 1])); put(name, paste0("se.", f), s[r, 2])
    if (!singular) {
      put(name, paste0("df.", f), s[r, 3]); put(name, paste0("single_p.", f), s[r, 5])
      put(name, paste0("single_lower.", f), exp(s[r, 1] - qt(0.975, s[r, 3]) * s[r, 2]))
      put(name, paste0("single_upper.", f), exp(s[r, 1] + qt(0.975, s[r, 3]) * s[r, 2]))
    }
  }
  sw <- shapiro.test(residuals(m)); put(name, "shapiro.statistic", sw$statistic); put(name, "shapiro.p", sw$p.value)
  if (!singular) {
    b <- fixef(m); nb <- nlevels(d$block)
    for (f in levels(d$facing)) {
      l <- setNames(rep(0, length(b)), names(b)); l[1] <- 1
      if (f != levels(d$facing)[1]) l[paste0("facing", f)] <- 1
      if (blocked) l[grep("^block", names(l))] <- 1 / nb
      ct <- contest(m, l, joint = FALSE)
      put(name, paste0("mu.", f), exp(ct$Estimate)); put(name, paste0("mu_lower.", f), exp(ct$lower)); put(name, paste0("mu_upper.", f), exp(ct$upper))
    }
    slopes(name, function(d) lmerTest::lmer(update(base, . ~ . + x), transform(d, x = x - mean(x)), control = ctl), d)
  }
}

censored <- function(name, d) {
  blocked <- nlevels(d$block) > 1
  d$left <- d$lo; d$right <- ifelse(d$outcome == "held", NA, d$hi)
  S <- Surv(d$left, d$right, type = "interval2")
  m <- survreg(if (blocked) S ~ facing + block else S ~ facing, d, dist = "gaussian", control = list(rel.tolerance = 1e-12, maxiter = 200))
  put(name, "loglik", m$loglik[2]); put(name, "sigma", m$scale)
  for (f in levels(d$facing)[-1]) put(name, paste0("ratio.", f), exp(coef(m)[paste0("facing", f)]))
  if (!blocked) {
    put(name, paste0("model_mu.", levels(d$facing)[1]), exp(coef(m)[1]))
    for (f in levels(d$facing)[-1]) put(name, paste0("model_mu.", f), exp(coef(m)[1] + coef(m)[paste0("facing", f)]))
  }
  for (v in list(c("proportionality", "lc", 1), c("drift", "order", 0))) {
    d$lc <- log(d$clamp); d$x <- d[[v[2]]]
    m <- survreg(if (blocked) S ~ facing + block + x else S ~ facing + x, d, dist = "gaussian", control = list(rel.tolerance = 1e-12, maxiter = 200))
    put(name, paste0(v[1], ".slope"), coef(m)["x"] + as.numeric(v[3]))
  }
}

for (i in 1:10) ols(sprintf("ols-%02d", i), make(sprintf("ols-%02d", i), facings = c(2, 3, 3, 4, 5)[(i - 1) %% 5 + 1], samples = 1,
  pulls = c(3, 5, 8, 4, 6)[(i - 1) %% 5 + 1], blocks = if (i > 5) 2 + i %% 2 else 1, drop = c(0, 2, 3, 1, 4)[(i - 1) %% 5 + 1]))
for (i in 1:2) ols(sprintf("unequal-%02d", i), make(sprintf("unequal-%02d", i), facings = 3, samples = 1, pulls = 8, unequal = TRUE))
for (i in 1:12) reml(sprintf("reml-%02d", i), make(sprintf("reml-%02d", i), facings = c(2, 3, 3, 4)[(i - 1) %% 4 + 1], samples = c(3, 3, 5, 2)[(i - 1) %% 4 + 1],
  pulls = 3, blocks = if (i > 8) 2 else 1, tau = c(0.08, 0.15, 0.05)[i %% 3 + 1], drop = if (i %% 2) 0 else 3))
for (i in 1:4) reml(sprintf("boundary-%02d", i), make(sprintf("boundary-%02d", i), facings = 3, samples = 3, pulls = 3, tau = 0))
for (i in 1:6) censored(sprintf("held-%02d", i), make(sprintf("held-%02d", i), facings = 3, samples = 1, pulls = 5 + i, hold = c(1900, 2300)[i %% 2 + 1], blocks = if (i > 4) 2 else 1))
for (i in 1:4) censored(sprintf("divided-%02d", i), make(sprintf("divided-%02d", i), facings = 3, samples = 1, pulls = 6, division = c(50, 100)[i %% 2 + 1]))
for (i in 1:4) censored(sprintf("mixture-%02d", i), make(sprintf("mixture-%02d", i), facings = 4, samples = 1, pulls = 7, division = 98.0665, hold = 2100, blocks = if (i > 2) 2 else 1))
close(out)
