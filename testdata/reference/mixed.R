#!/usr/bin/env Rscript
# Marginal likelihood of held and divided rows with a normal sample effect, by adaptive quadrature (R's integrate), and its
# maximum adjusted for the fixed effects (Cox and Reid), for analysis/fit. R 4.2.2, no packages.
# Run: Rscript mixed.R > mixed.csv
d <- data.frame(
  f = rep(1:2, each = 9), s = rep(1:6, each = 3),
  lo = c(-0.11, 0.02, 0.05, 0.21, 0.18, 0.30, -0.05, -0.20, -0.01, 0.41, 0.60, 0.60, 0.35, 0.28, 0.44, 0.55, 0.60, 0.60),
  hi = c(-0.11, 0.02, 0.05, 0.26, 0.23, 0.30, -0.05, -0.15, 0.04, 0.41, Inf, Inf, 0.40, 0.33, 0.44, 0.55, Inf, 0.65))
loglik <- function(b, sigma, tau) sum(sapply(split(d, d$s), function(g) {
  h <- function(u) sapply(u, function(u) { m <- b[g$f] + u
    sum(ifelse(g$lo == g$hi, dnorm(g$lo, m, sigma, log = TRUE), log(pnorm(g$hi, m, sigma) - pnorm(g$lo, m, sigma)))) + dnorm(u, 0, tau, log = TRUE) })
  o <- optimize(h, c(-8, 8) * tau, maximum = TRUE, tol = 1e-10); w <- min(sigma, tau)
  cuts <- o$maximum + w * c(-10, -5, -2, 0, 2, 5, 10)
  o$objective + log(sum(mapply(function(a, c) integrate(function(u) exp(h(u) - o$objective), a, c, rel.tol = 1e-12)$value, head(cuts, -1), tail(cuts, -1))))
}))
cat("# made by mixed.R: R 4.2.2\nkey,value\n")
p <- function(k, v) cat(sprintf("%s,%.12g\n", k, v))
p("loglik.a", loglik(c(0.05, 0.5), 0.08, 0.1)); p("loglik.b", loglik(c(0, 0.6), 0.15, 0.05)); p("loglik.c", loglik(c(0.1, 0.4), 0.05, 0.3))
info <- function(b, sigma, tau) { e <- 1e-3; H <- matrix(0, 2, 2); l <- function(x, y) loglik(b + c(x, y) * e, sigma, tau)
  H[1, 1] <- (l(1, 0) - 2 * l(0, 0) + l(-1, 0)) / e^2; H[2, 2] <- (l(0, 1) - 2 * l(0, 0) + l(0, -1)) / e^2
  H[1, 2] <- H[2, 1] <- (l(1, 1) - l(1, -1) - l(-1, 1) + l(-1, -1)) / (4 * e^2); -H }
best <- function(th) optim(c(0.05, 0.5), function(b) -loglik(b, exp(th[1]), exp(th[2])), control = list(reltol = 1e-13))$par
adj <- function(th) { b <- best(th); loglik(b, exp(th[1]), exp(th[2])) - log(det(info(b, exp(th[1]), exp(th[2])))) / 2 + log(2 * pi) }
# At the maximum that analysis/fit finds: the same value, and less on every side.
at <- log(c(0.0949002798534318, 0.1422943453075962))
b <- best(at); I <- info(b, exp(at[1]), exp(at[2]))
p("max", adj(at)); p("b1", b[1]); p("b2", b[2]); p("se", sqrt(sum(solve(I) * matrix(c(1, -1, -1, 1), 2))))
for (i in 1:4) p(paste0("drop", i), adj(at) - adj(at + 0.02 * list(c(1, 0), c(-1, 0), c(0, 1), c(0, -1))[[i]]))
