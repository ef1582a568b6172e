# Funnel limits, overdispersion between units, risk with a unit left out, run lengths of a cusum, a scan for a change.
# Run: Rscript tests/reference/audit-and-trends.R > tests/reference/audit-and-trends.json
suppressMessages({library(metafor); library(jsonlite)})
set.seed(41)

# Interpolated Poisson limits.
limit <- function(p, m) { r <- qpois(p, m); max(0, r - (ppois(r, m) - p) / (ppois(r, m) - ppois(r - 1, m))) }
means <- c(0.8, 3.7, 12.4, 48, 260)
tails <- c(0.001, 0.025, 0.975, 0.999)
limits <- lapply(means, function(m) sapply(tails, limit, m = m))
garwood <- lapply(c(0, 1, 4.5, 20), function(x) c(if (x == 0) 0 else qchisq(.025, 2 * x) / 2, qchisq(.975, 2 * x + 2) / 2))

# Between units: square-root scale, winsorised factor; DerSimonian and Laird without winsorising by metafor.
expected <- c(4.2, 9.1, 15.5, 22.3, 7.7, 30.2, 12.8, 5.6, 18.4, 26.9, 11.3, 41)
observed <- c(2, 15, 14, 35, 6, 21, 20, 9, 10, 31, 12, 44)
dispersion <- 1.4
z <- 2 * (sqrt(observed) - sqrt(expected)) / sqrt(dispersion)
s <- sort(z); n <- length(z); k <- floor(0.1 * n)
factor <- mean(pmin(pmax(z, s[k + 1]), s[n - k])^2)
plain <- mean(z^2)
# rma around the known mean 1: Q about the target instead of about the pooled mean.
y <- sqrt(observed / expected); v <- dispersion / (4 * expected); w <- 1 / v
Q <- sum(w * (y - 1)^2)
tau2 <- max(0, (Q - (n - 1)) / (sum(w) - sum(w^2) / sum(w)))
dl <- rma(yi = y, vi = v, method = "DL")

# Risk with one unit's trials left out: glm.
N <- 600
d <- data.frame(ground = sample(0:2, N, TRUE), wet = sample(0:1, N, TRUE), days = sample(c(28, 35, 42, 56), N, TRUE), unit = sample(0:5, N, TRUE))
d$y <- rbinom(N, 1, 1 - exp(-exp(-2.3 + 0.5 * (d$ground == 1) - 0.4 * (d$ground == 2) + 0.6 * d$wet + 1.3 * log(d$days / 42) + 0.4 * (d$unit == 2))))
fit <- function(rows) glm(y ~ factor(ground) + wet + log(days / 42), binomial("cloglog"), rows, control = glm.control(epsilon = 1e-12))
e_all <- tapply(predict(fit(d), d, "response"), d$unit, sum)
e_without <- sapply(0:5, function(u) sum(predict(fit(d[d$unit != u, ]), d[d$unit == u, ], "response")))
v_without <- sapply(0:5, function(u) {
  m <- fit(d[d$unit != u, ]); X <- model.matrix(delete.response(terms(m)), d[d$unit == u, ]); h <- exp(drop(X %*% coef(m)))
  g <- colSums(exp(-h) * h * X); drop(g %*% vcov(m) %*% g)
})

# Run length of the Poisson cusum that steps o*log(R) - (R - 1)*e: Markov chain of Brook and Evans (1972), fine grid.
arl <- function(mean, ratio, h, cells = 2000) {
  a <- log(ratio); b <- (ratio - 1) * mean; w <- h / cells; mid <- (seq_len(cells) - 0.5) * w; from <- c(0, mid)
  P <- matrix(0, cells + 1, cells + 1)
  for (i in seq_along(from)) for (x in 0:(qpois(1 - 1e-12, mean))) {
    to <- max(0, from[i] + x * a - b)
    if (to > h) next
    j <- if (to == 0) 1 else min(cells, floor(to / w) + 1) + 1
    P[i, j] <- P[i, j] + dpois(x, mean)
  }
  solve(diag(cells + 1) - P, rep(1, cells + 1))[1]
}
runs <- list(list(mean = 3, ratio = 1.5, limit = 2.5), list(mean = 8, ratio = 1.5, limit = 2.5), list(mean = 3, ratio = 2, limit = 2))
for (i in seq_along(runs)) runs[[i]]$runLength <- with(runs[[i]], arl(mean, ratio, limit))
# The same chain for the normal cusum, k = 0.5: 335.4 one-sided at h = 4 and 930 at h = 5 (168 and 465 two-sided) in tables, from memory.
normal <- function(h, k = 0.5, cells = 400) {
  w <- 2 * h / (2 * cells - 1); mid <- c(0, w * seq_len(cells - 1)); P <- matrix(0, cells, cells)
  for (i in 1:cells) { P[i, 1] <- pnorm(w / 2 + k - mid[i]); P[i, -1] <- pnorm(mid[-1] + w / 2 + k - mid[i]) - pnorm(mid[-1] - w / 2 + k - mid[i]) }
  solve(diag(cells) - P, rep(1, cells))[1]
}

# Scan for one change: gain at each month by glm; error of the ratio by cluster.
M <- 20; C <- 15
s <- expand.grid(month = 0:(M - 1), cluster = 0:(C - 1))
s$e <- round(runif(nrow(s), 0.2, 1.5), 3)
u <- exp(rnorm(C, 0, 0.3))
s$o <- rpois(nrow(s), s$e * u[s$cluster + 1] * ifelse(s$month >= 12, 1.5, 1))
m <- aggregate(cbind(o, e) ~ month, s, sum)
gain <- sapply(3:(M - 3), function(at) glm(o ~ offset(log(e)), poisson, m)$deviance - glm(o ~ I(month >= at) + offset(log(e)), poisson, m)$deviance)
best <- (3:(M - 3))[which.max(gain)]
g2 <- glm(o ~ I(month >= best) + offset(log(e)), poisson, s)
V <- sandwich::vcovCL(g2, cluster = s$cluster, type = "HC0", cadjust = TRUE)

cat(toJSON(list(
  R = R.version.string, metafor = as.character(packageVersion("metafor")), sandwich = as.character(packageVersion("sandwich")),
  means = means, tails = tails, limits = limits, garwood = garwood,
  units = list(expected = expected, observed = observed, dispersion = dispersion, factor = factor, plain = plain, tau2 = tau2, dl = dl$tau2),
  trials = as.list(d), expectedAll = as.numeric(e_all), expectedWithout = as.numeric(e_without), varianceWithout = as.numeric(v_without),
  runs = runs, normal = list(h4 = normal(4), h5 = normal(5)),
  scan = list(rows = as.list(s), gain = gain, best = best, ratio = unname(exp(coef(g2)[2])), logError = unname(sqrt(diag(V))[2]))
), auto_unbox = TRUE, digits = 12, pretty = FALSE))
