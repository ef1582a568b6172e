# Reference values for times seen only to lie in (left, right]: R survival.
# Rscript tests/reference/time-to-return.R tests/reference/time-to-return.json
# Simulates its own rows (seed below), so that inputs and outputs stand in one file.
library(survival)
library(MASS)
out <- commandArgs(trailingOnly = TRUE)[1]
set.seed(20240607)

# 60 clusters, 4 rows each; a shared log-normal factor; ends on whole days; some known, some left-censored.
G <- 60; m <- 4; n <- G * m
cluster <- rep(seq_len(G), each = m)
wet <- rbinom(G, 1, 0.45)[cluster]
kind <- sample(0:2, G, replace = TRUE)[cluster]
age <- round(runif(G, 3, 25), 1)[cluster]
shared <- exp(rnorm(G, 0, 0.4))[cluster]
rate <- exp(-7.6 + 0.5 * wet + 0.4 * (kind == 1) - 0.3 * (kind == 2) + 0.01 * age) * shared
time <- (rexp(n) / rate)^(1 / 1.3)
left <- numeric(n); right <- numeric(n)
for (i in seq_len(n)) {
  looks <- cumsum(sample(21:80, 12, replace = TRUE))
  looks <- looks[seq_len(sample(4:12, 1))]
  before <- looks[looks < time[i]]
  left[i] <- if (length(before)) max(before) else 0
  right[i] <- if (any(looks >= time[i])) min(looks[looks >= time[i]]) else Inf
}
known <- sample(which(is.finite(right)), 12)
left[known] <- right[known] <- ceiling(time[known])

type_left <- ifelse(left == 0, NA, left)
type_right <- ifelse(is.finite(right), right, NA)
data <- data.frame(type_left, type_right, wet, kind1 = as.numeric(kind == 1), kind2 = as.numeric(kind == 2), age, cluster)
control <- survreg.control(rel.tolerance = 1e-14, maxiter = 100)
y <- Surv(type_left, type_right, type = "interval2")
plain <- survreg(y ~ wet + kind1 + kind2 + age, data, dist = "weibull", control = control)
robust <- survreg(y ~ wet + kind1 + kind2 + age + cluster(cluster), data, dist = "weibull", control = control)
empty <- survreg(y ~ 1, data, dist = "weibull", control = control)
# survreg's own clustered covariance rests on residuals(type = "dfbeta"), whose log-scale score has the wrong sign in
# rows of a proper interval (survival 3.5.3; compare `scores` below). The reference is therefore V (sum s s') V with
# the scores s differentiated numerically from the log-likelihood; survreg's figures are kept beside it.
design <- model.matrix(~ wet + kind1 + kind2 + age, data)
contribution <- function(theta) {
  mu <- as.vector(design %*% theta[1:5]); scale <- exp(theta[6])
  survived <- function(t) exp(-exp((log(t) - mu) / scale))
  z <- (log(pmax(left, 1e-9)) - mu) / scale
  ifelse(left == right, z - exp(z) - log(scale) - log(pmax(left, 1e-9)),
    log(ifelse(left == 0, 1, survived(pmax(left, 1e-9))) - ifelse(is.finite(right), survived(pmin(right, 1e9)), 0)))
}
top <- c(coef(plain), log(plain$scale))
scores <- sapply(1:6, function(j) {
  slope <- function(h) { e <- replace(numeric(6), j, h); (contribution(top + e) - contribution(top - e)) / (2 * h) }
  (4 * slope(5e-4) - slope(1e-3)) / 3
})
meat <- crossprod(rowsum(scores, cluster))
clustered <- sqrt(diag(vcov(plain) %*% meat %*% vcov(plain)))
sign_of_scale <- max(abs((residuals(plain, "dfbeta") - scores %*% vcov(plain))[left < right & left > 0 & is.finite(right), 6]))
flipped <- scores
interval_rows <- left < right & left > 0 & is.finite(right)
flipped[interval_rows, 6] <- -flipped[interval_rows, 6]
explained <- max(abs(residuals(plain, "dfbeta") - flipped %*% vcov(plain)))
# Nonparametric estimate by a plain EM on the incidence matrix, run until the Karush-Kuhn-Tucker gap is below 1e-10:
# slow, and shares nothing with the code under test.
marks <- rbind(data.frame(at = unique(left[left < right]), order = 3, open = TRUE), data.frame(at = unique(left[left == right]), order = 1, open = TRUE),
  data.frame(at = unique(right), order = 2, open = FALSE))
marks <- marks[order(marks$at, marks$order), ]
inner <- which(marks$open[-nrow(marks)] & !marks$open[-1])
inner_low <- marks$at[inner]; inner_high <- marks$at[inner + 1]; inner_exact <- marks$order[inner] == 1
inside <- outer(seq_len(n), seq_along(inner), function(i, j)
  ifelse(left[i] == right[i], inner_exact[j] & inner_low[j] == left[i],
    ifelse(inner_exact[j], inner_low[j] > left[i], inner_low[j] >= left[i]) & inner_high[j] <= right[i]))
mass <- rep(1 / length(inner), length(inner)); gap <- 1; rounds <- 0
while (gap > 1e-10 && rounds < 1e6) {
  gain <- colMeans(inside / as.vector(inside %*% mass)); gap <- max(gain) - 1; rounds <- rounds + 1
  if (gap > 1e-10) mass <- mass * gain
}
npmle <- sum(log(inside %*% mass))
# Profile of the log-likelihood with the coefficient of wet held, for the limits of a level without events:
# rows of wet count as never seen, and the one-sided limit solves 2 (max - profile) = qchisq(.90, 1).
silent <- data
silent$type_right[silent$wet == 1] <- NA
silent$type_left[silent$wet == 1] <- pmax(1, left[silent$wet == 1])
ys <- with(silent, Surv(type_left, type_right, type = "interval2"))
kept <- survreg(ys ~ age, silent, subset = wet == 0, dist = "weibull", control = control)
# survreg's offset is on the log-time scale; held on the log-hazard scale it is -psi * scale, so solve for both.
profile_at <- function(psi) {
  value <- function(scale) {
    f <- survreg(ys ~ age + offset(-psi * scale * wet), silent, dist = "weibull", scale = scale, control = control)
    f$loglik[2]
  }
  optimize(value, c(0.2, 3), maximum = TRUE, tol = 1e-10)$objective
}
limit <- uniroot(function(psi) 2 * (kept$loglik[2] - profile_at(psi)) - qchisq(0.90, 1), c(-8, 1), tol = 1e-9)$root

gehan <- MASS::gehan
km <- survfit(Surv(time, cens) ~ treat, gehan, conf.type = "log-log")
num <- function(x) paste0("[", paste(ifelse(is.na(x), "null", ifelse(is.finite(x), trimws(formatC(x, digits = 15, format = "g")), '"Inf"')), collapse = ", "), "]")
one <- function(x) formatC(x, digits = 15, format = "g")
q <- function(s) paste0('"', s, '"')
sk <- summary(km)
diff <- survdiff(Surv(time, cens) ~ treat, gehan)
three <- survdiff(Surv(time, status) ~ cell, transform(survival::veteran, cell = celltype))
pred <- predict(plain, newdata = data.frame(wet = 1, kind1 = 0, kind2 = 1, age = 10), type = "lp", se.fit = TRUE)
share90 <- 1 - exp(-exp((log(90) - pred$fit) / plain$scale))
lines <- c(
  '"script": "time-to-return.R"',
  paste('"R":', q(R.version.string)),
  paste('"survival":', q(as.character(packageVersion("survival")))),
  paste('"MASS":', q(as.character(packageVersion("MASS")))),
  paste('"input": {\n  "left":', num(left), ',\n  "right":', num(right), ',\n  "wet":', num(wet), ',\n  "kind1":', num(as.numeric(kind == 1)),
    ',\n  "kind2":', num(as.numeric(kind == 2)), ',\n  "age":', num(age), ',\n  "cluster":', num(cluster), "\n}"),
  paste('"weibull": {"coefficients":', num(coef(plain)), ', "logScale":', one(log(plain$scale)), ', "logLikelihood":', one(plain$loglik[2]),
    ',\n  "stdErrors":', num(sqrt(diag(vcov(plain)))), ',\n  "clusteredStdErrors":', num(clustered),
    ',\n  "survregClusteredStdErrors":', num(sqrt(diag(vcov(robust)))), ',\n  "dfbetaOff":', one(sign_of_scale), ', "dfbetaOffOnceSignIsTurned":', one(explained), ',\n  "share90":', one(share90), "}"),
  paste('"weibullEmpty": {"coefficients":', num(coef(empty)), ', "logScale":', one(log(empty$scale)), ', "logLikelihood":', one(empty$loglik[2]),
    ', "stdErrors":', num(sqrt(diag(vcov(empty)))), "}"),
  paste('"npmle": {"low":', num(inner_low), ',\n  "high":', num(inner_high), ',\n  "mass":', num(mass), ',\n  "logLikelihood":', one(npmle),
    ', "gap":', one(gap), ', "rounds":', one(rounds), "}"),
  paste('"silent": {"logLikelihood":', one(kept$loglik[2]), ', "limit":', one(limit), "}"),
  paste('"gehan": {"time":', num(gehan$time), ', "event":', num(gehan$cens), ', "control":', num(as.numeric(gehan$treat == "control")),
    ',\n  "strata":', paste0("[", paste(q(as.character(sk$strata)), collapse = ", "), "]"), ',\n  "times":', num(sk$time), ',\n  "surv":', num(sk$surv),
    ',\n  "stdErr":', num(sk$std.err), ',\n  "low":', num(sk$lower), ',\n  "high":', num(sk$upper),
    ',\n  "median":', num(quantile(km, 0.5)$quantile), ',\n  "medianLow":', num(quantile(km, 0.5)$lower), ',\n  "medianHigh":', num(quantile(km, 0.5)$upper),
    ',\n  "chiSquare":', one(diff$chisq), "}"),
  paste('"veteran": {"time":', num(survival::veteran$time), ', "event":', num(survival::veteran$status), ', "cell":', num(as.numeric(survival::veteran$celltype)),
    ',\n  "chiSquare":', one(three$chisq), ', "pValue":', one(pchisq(three$chisq, 3, lower.tail = FALSE)), ', "expected":', num(three$exp), "}")
)
writeLines(paste0("{\n", paste(lines, collapse = ",\n"), "\n}"), out)
