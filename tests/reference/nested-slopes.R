# Random rates through the origin, nested: R's lme4 on rates weighted by time squared, and the mixed model
# equations solved with dense matrices at lme4's variances, for what lme4 does not print.
# Run: Rscript tests/reference/nested-slopes.R > tests/reference/nested-slopes.json
suppressMessages({library(lme4); library(jsonlite)})
ctl <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-11, maxfun = 1e5), calc.derivs = FALSE)
w0 <- 2 * pi / 365.25

simulate <- function(seed, tau, phi, sigma) {
  set.seed(seed)
  rows <- list(); unit <- 0
  for (g in 1:36) {
    group <- as.numeric(g %% 3 == 0); u <- rnorm(1, 0, tau)
    for (f in seq_len(sample(1:4, 1))) {
      unit <- unit + 1; v <- rnorm(1, 0, phi); t <- sample(0:200, 1)
      for (i in seq_len(sample(1:6, 1))) {
        d <- sample(24:90, 1)
        C <- (sin(w0 * (t + d)) - sin(w0 * t)) / (w0 * d); S <- (cos(w0 * t) - cos(w0 * (t + d))) / (w0 * d)
        y <- d / 30 * (7.5 + 1.2 * group - 0.6 * C + 0.9 * S + u + v) + rnorm(1, 0, sigma)
        rows[[length(rows) + 1]] <- c(cluster = g, unit = unit, days = d, group = group, C = round(C, 8), S = round(S, 8), y = round(y, 3))
        t <- t + d
      }
    }
  }
  as.data.frame(do.call(rbind, rows))
}

reference <- function(d, x0) {
  z <- d$days / 30
  m <- lmer(I(y / z) ~ group + C + S + (1 | cluster) + (1 | unit), d, weights = z^2, control = ctl)
  vc <- as.data.frame(VarCorr(m)); s2 <- sigma(m)^2
  t2 <- vc$vcov[vc$grp == "cluster"]; p2 <- vc$vcov[vc$grp == "unit"]
  X <- z * cbind(1, d$group, d$C, d$S)
  Zc <- z * model.matrix(~ 0 + factor(cluster), d); Zu <- z * model.matrix(~ 0 + factor(unit), d)
  V <- t2 * tcrossprod(Zc) + p2 * tcrossprod(Zu) + s2 * diag(nrow(d)); Vi <- solve(V)
  A <- solve(t(X) %*% Vi %*% X); b <- A %*% t(X) %*% Vi %*% d$y; r <- d$y - X %*% b
  sc <- sapply(unique(d$cluster), function(g) { k <- d$cluster == g; t(X[k, , drop = FALSE]) %*% Vi[k, k, drop = FALSE] %*% r[k] })
  G <- ncol(sc); robust <- A %*% tcrossprod(sc) %*% A * G / (G - 1)
  # Prediction error covariance of (beta, u, v): inverse of Henderson's mixed model equations.
  one <- function(B, e) { # contrast e over (beta, u, v): estimate and prediction variance
    P <- Vi - Vi %*% X %*% A %*% t(X) %*% Vi
    D <- diag(c(rep(t2, ncol(Zc)), rep(p2, ncol(Zu)))); Z <- cbind(Zc, Zu)
    k <- e[1:4]; l <- e[-(1:4)]
    est <- sum(k * b) + sum(l * (D %*% t(Z) %*% Vi %*% r))
    h <- k - t(X) %*% Vi %*% Z %*% D %*% l
    var <- t(l) %*% (D - D %*% t(Z) %*% Vi %*% Z %*% D) %*% l + t(h) %*% A %*% h
    c(est, sqrt(var))
  }
  nc <- ncol(Zc); nu <- ncol(Zu); unitc <- d$cluster[match(sort(unique(d$unit)), d$unit)]
  e <- function(k, ci = NULL, ui = NULL, wt = 1) { v <- numeric(4 + nc + nu); v[1:4] <- k; if (!is.null(ci)) v[4 + ci] <- 1; if (!is.null(ui)) v[4 + nc + ui] <- wt; v }
  pick <- c(1, 5, 9, 20, 33); upick <- c(1, 7, 15, 40)
  second <- which(duplicated(unitc))[1]; pair <- c(second - 1, second)
  list(
    beta = unname(fixef(m)), covariance = as.matrix(vcov(m)), robust = robust,
    variances = list(cluster = t2, unit = p2, residual = s2),
    criterion = unname(REMLcrit(m)) + sum(log(z^2)),
    x0 = x0, clusters = pick, units = upick,
    clusterEffect = t(sapply(pick, function(i) one(NULL, e(rep(0, 4), i)))),
    clusterRate = t(sapply(pick, function(i) one(NULL, e(x0, i)))),
    unitEffect = t(sapply(upick, function(i) one(NULL, e(rep(0, 4), NULL, i)))),
    unitRate = t(sapply(upick, function(i) one(NULL, e(x0, unitc[i], i)))),
    pair = pair, pairDifference = one(NULL, e(rep(0, 4), NULL, pair, c(1, -1))),
    lme4ClusterEffects = ranef(m)$cluster[[1]], lme4UnitEffects = ranef(m)$unit[[1]]
  )
}
inner <- simulate(20, 0.9, 0.5, 1.1); edge <- simulate(7, 0.8, 0, 1.3)
sl <- sleepstudy; sl$y <- sl$Reaction - 250; sl$d <- sl$Days; sl <- sl[sl$Days > 0, ]
ms <- lmer(I(y / d) ~ 1 + (1 | Subject), sl, weights = d^2, control = ctl)
md <- lmer(Yield ~ 1 + (1 | Batch), Dyestuff, control = ctl)
out <- list(
  R = R.version.string, lme4 = as.character(packageVersion("lme4")),
  inner = list(data = as.list(inner), values = reference(inner, c(1, 1, 0, 0))),
  edge = list(data = as.list(edge), values = reference(edge, c(1, 0, 0.5, 0))),
  sleepstudy = list(data = list(subject = as.integer(as.character(sl$Subject)), days = sl$d, y = sl$y),
    values = list(beta = unname(fixef(ms)), se = sqrt(vcov(ms)[1, 1]), cluster = as.data.frame(VarCorr(ms))$vcov[1], residual = sigma(ms)^2,
      effects = ranef(ms)$Subject[[1]])),
  dyestuff = list(values = list(beta = unname(fixef(md)), se = sqrt(vcov(md)[1, 1]), cluster = as.data.frame(VarCorr(md))$vcov[1], residual = sigma(md)^2, criterion = unname(REMLcrit(md))))
)
cat(toJSON(out, digits = NA, auto_unbox = TRUE, dataframe = "columns"), "\n")
