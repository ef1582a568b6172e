# Interval effect on the demo herd: separation at the next visit of a foot, crude, adjusted for breed type, ground,
# moisture and season, and each horse against its own usual interval. The exact two-state form by a likelihood written
# here (integral over time, 80-point Gauss-Legendre rule on a stretched scale; derivatives by differences); beside it
# the complementary log-log regression by glm with errors by sandwich.
source("tests/reference/demo/common.R")
suppressMessages(library(sandwich))
source_rows <- gathered("interval")
d <- source_rows$rows
reference <- 42

# Golub & Welsch 1969, Math Comput 23:221-230.
nodes <- 80
k <- seq_len(nodes - 1); beta <- k / sqrt(4 * k^2 - 1)
J <- matrix(0, nodes, nodes); J[cbind(k, k + 1)] <- beta; J[cbind(k + 1, k)] <- beta
e <- eigen(J, symmetric = TRUE)
node <- (e$values + 1) / 2; weight <- e$vectors[1, ]^2
# t = days * s^3 makes the integrand smooth at 0.
share <- node^3; measure <- weight * 3 * node^2

# log-likelihood of each row as a function of its own predictor, log clearing and log exponent.
row_loglik <- function(eta, log_clearing, log_k) {
  K <- exp(log_k); rho <- exp(log_clearing) / year
  H <- exp(eta) * (d$days / reference)^K
  inner <- outer(H, K * share^(K - 1)) * exp(-outer(H, 1 - share^K) - rho * outer(d$days, 1 - share))
  p01 <- as.vector(inner %*% measure)
  p1 <- ifelse(d$present_start == 0, p01, p01 + exp(-H - rho * d$days))
  log(ifelse(d$present_end == 1, p1, 1 - p1))
}
# First and second derivatives of each row in its three arguments, by central differences of order 6 and 4.
three <- function(X, theta) {
  p <- ncol(X)
  eta <- as.vector(X %*% theta[1:p])
  f <- function(a = 0, b = 0, c = 0) row_loglik(eta + a, theta[p + 1] + b, theta[p + 2] + c)
  unit <- diag(3)
  go <- function(v) f(v[1], v[2], v[3])
  slope <- function(j) { g <- function(h) (go(h * unit[j, ]) - go(-h * unit[j, ])) / (2 * h); h <- 4e-3; (64 * g(h / 4) - 20 * g(h / 2) + g(h)) / 45 }
  middle <- f()
  bend <- function(i, j) {
    g <- function(h) if (i == j) (go(h * unit[i, ]) - 2 * middle + go(-h * unit[i, ])) / h^2 else
      (go(h * (unit[i, ] + unit[j, ])) - go(h * (unit[i, ] - unit[j, ])) - go(h * (unit[j, ] - unit[i, ])) + go(-h * (unit[i, ] + unit[j, ]))) / (4 * h^2)
    h <- 2e-2; (64 * g(h / 4) - 20 * g(h / 2) + g(h)) / 45
  }
  S <- sapply(1:3, slope)
  scores <- cbind(X * S[, 1], S[, 2], S[, 3])
  wide <- list(X, matrix(1, nrow(X), 1), matrix(1, nrow(X), 1))
  blocks <- lapply(1:3, function(i) lapply(1:3, function(j) if (j < i) NULL else crossprod(wide[[i]], wide[[j]] * bend(i, j))))
  information <- -rbind(
    cbind(blocks[[1]][[1]], blocks[[1]][[2]], blocks[[1]][[3]]),
    cbind(t(blocks[[1]][[2]]), blocks[[2]][[2]], blocks[[2]][[3]]),
    cbind(t(blocks[[1]][[3]]), t(blocks[[2]][[3]]), blocks[[3]][[3]]))
  list(loglik = sum(middle), scores = scores, information = information)
}
exact_fit <- function(X) {
  theta <- c(solve(crossprod(X), crossprod(X, rep(-2.5, nrow(X)))), log(2), 0.2)
  at <- three(X, theta)
  for (i in 1:60) {
    step <- tryCatch(solve(at$information, colSums(at$scores)), error = function(e) colSums(at$scores) / 1e3)
    t <- min(1, 2 / max(abs(step)))
    repeat { there <- three(X, theta + t * step); if (is.finite(there$loglik) && there$loglik >= at$loglik - 1e-9) break; t <- t / 2; if (t < 1e-8) break }
    theta <- theta + t * step; at <- there
    if (max(abs(step)) < 1e-9) break
  }
  bread <- solve(at$information)
  list(theta = unname(theta), loglik = at$loglik, se = unname(sqrt(diag(bread))), robustSe = unname(sqrt(diag(sandwich_of(bread, at$scores, d$horse_id)))), lastStep = max(abs(step)))
}
cloglog_fit <- function(X) {
  clear <- d$present_start == 0
  A <- cbind(X, log(d$days / reference))[clear, ]
  fit <- glm(d$present_end[clear] ~ 0 + A, family = binomial("cloglog"), control = list(epsilon = 1e-15, maxit = 100))
  list(coef = unname(coef(fit)), se = unname(sqrt(diag(vcov(fit)))), robustSe = unname(sqrt(diag(vcovCL(fit, cluster = d$horse_id[clear], type = "HC0", cadj = TRUE)))))
}
one <- matrix(1, nrow(d), 1)
groups <- cbind(contrasts_of(d$by_breed_type), contrasts_of(d$by_terrain), contrasts_of(d$by_moisture), contrasts_of(d$by_season))
log_days <- log(d$days / reference)
# The horse's own usual interval: the mean over its cycles that began clear; the herd's mean of those for a horse without.
clear <- d$present_start == 0
own <- tapply(log_days[clear], d$horse_id[clear], mean)
usual <- unname(own[d$horse_id])
designs <- list(crude = one, adjusted = cbind(one, groups), within = cbind(one, groups, usual))
if (anyNA(usual)) stop("a horse has no cycle that began clear: say how it is treated")
write_result("interval", source_rows, c("sandwich"), list(
  groups = colnames(groups), exact = lapply(designs, exact_fit), cloglog = lapply(designs, cloglog_fit)
))
