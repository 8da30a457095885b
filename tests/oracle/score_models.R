# Mixed models of sensory scores, fitted by an independent program.
#
# Makes
#   score_data.csv     set, taster, water, round, position, previous, value (0: not known, or none)
#   score_models.json  for each set and model: variances, means, F tests, differences
#
# Sets (numbers only; the names of products are left out):
#   wine      bitterness of a white wine, 9 judges, 4 treatments, 2 bottles (Randall J. H., 1989,
#             Biometrical J. 31, 781; data set `wine` of package ordinal, column response)
#   tv_*      15 attributes, 8 assessors, 12 products (3 sets x 4 pictures), 2 repeats (data set
#             `TVbo` of package lmerTest); several of these fits are singular
#   ham       liking of dry-cured ham, 81 consumers, 4 products, 2 informations taken as repeats
#             (data set `ham` of package lmerTest)
#   carrots   liking of carrots, 103 consumers, 12 products, once each, 3 scores missing
#             (data set `carrots` of package lmerTest)
#   tv_gaps   tv_Noise with 23 scores left out
#   orders    made up here (seed below): 8 tasters, 6 waters, 2 rounds in orders balanced for
#             carry-over, with effects of place and of the water before; 7 scores left out
#
# Model: value = water + taster (+ place + water before) fixed, so that waters are compared within tasters,
# and taster x water random where cups are repeated, by REML; Satterthwaite degrees of freedom. Tasters,
# places and waters before are coded as deviations from their means, a first cup having none before it.
# Where the variance of taster x water would come out below zero (lme4 cuts it off at zero) the set is
# complete, and its cell means are analysed by least squares, which lets it.
#
# Means are to hold for other tasters: S2/J + (own variance - V/J), with S2 the variance of the tasters'
# levels found and V what of it is noise. For complete sets this is compared here with the means of the
# model with tasters random, where that is not singular.
#
# Versions: R 4.2.2, lme4 1.1-31, lmerTest 3.1-3, ordinal 2022.11-16, jsonlite 1.8.4.
# Run again: Rscript score_models.R

suppressMessages({library(lme4); library(lmerTest); library(ordinal); library(jsonlite)})

number <- function(f) as.integer(factor(f))
rows <- function(set, taster, water, round, value, position = 0, previous = 0)
  data.frame(set, taster = number(taster), water = number(water), round = as.integer(round),
             position, previous, value)

data(wine); data(TVbo); data(ham); data(carrots)
sets <- list()
sets$wine <- rows("wine", wine$judge, interaction(wine$temp, wine$contact),
                  2 - as.integer(wine$bottle) %% 2, wine$response)
product <- interaction(TVbo$TVset, TVbo$Picture)
for (a in names(TVbo)[5:19])
  sets[[paste0("tv_", a)]] <- rows(paste0("tv_", a), TVbo$Assessor, product, TVbo$Repeat, TVbo[[a]])
sets$ham <- rows("ham", ham$Consumer, ham$Product, ham$Information, ham$Informed.liking)
sets$carrots <- rows("carrots", carrots$Consumer, carrots$Product, 1, carrots$Preference)
sets$carrots <- subset(sets$carrots, !is.na(value))
set.seed(4711)
sets$tv_gaps <- sets$tv_Noise[-sample(192, 23), ]
sets$tv_gaps$set <- "tv_gaps"

first <- c(0, 1, 5, 2, 4, 3)
made <- do.call(rbind, lapply(1:8, function(t) do.call(rbind, lapply(1:2, function(r) {
  row <- (first + t + 3 * r) %% 6 + 1
  data.frame(taster = t, water = row, round = r, position = 1:6, previous = c(0, row[-6]))
}))))
water <- c(5, 5.4, 6.1, 4.2, 5.9, 6.6); place <- c(.6, .2, 0, -.1, -.3, -.4)
carry <- c(.3, -.2, .1, 0, -.4, .2)
taster <- rnorm(8, 0, .9); both <- matrix(rnorm(48, 0, .5), 8)
made$value <- round(water[made$water] + place[made$position] +
  ifelse(made$previous > 0, carry[pmax(made$previous, 1)], 0) +
  taster[made$taster] + both[cbind(made$taster, made$water)] + rnorm(96, 0, .7), 1)
sets$orders <- cbind(set = "orders", made)[-sample(96, 7), ]

coded <- function(level, levels, prefix) {
  last <- levels[length(levels)]
  out <- sapply(levels[-length(levels)], function(l) (level == l) - (level == last))
  colnames(out) <- paste0(prefix, seq_len(ncol(out)))
  out
}

analyse <- function(name, d, extras) {
  tasters <- sort(unique(d$taster)); J <- length(tasters)
  d$W <- factor(d$water); d$T <- factor(d$taster); d$TW <- interaction(d$T, d$W, drop = TRUE)
  cups <- table(d$TW); repeated <- any(cups > 1); k <- nlevels(d$W)
  complete <- length(unique(as.vector(table(d$T, d$W)))) == 1
  blocks <- list(); matrices <- list(tasters = coded(d$taster, tasters, "J"))
  if ("order" %in% extras) {
    matrices$order <- coded(d$position, sort(unique(d$position)), "P"); blocks$order <- colnames(matrices$order)
  }
  if ("carry_over" %in% extras) {
    matrices$carry <- coded(d$previous, setdiff(sort(unique(d$previous)), 0), "C")
    blocks$carry_over <- colnames(matrices$carry)
  }
  levels_ <- colnames(matrices$tasters)
  for (m in matrices) d <- cbind(d, m)
  formula <- paste(c("value ~ 0 + W", levels_, unlist(blocks)), collapse = " + ")
  both <- NULL
  if (repeated) {
    fit <- suppressMessages(lmer(as.formula(paste(formula, "+ (1 | TW)")), d, REML = TRUE,
      control = lmerControl(optimizer = "bobyqa", optCtrl = list(rhobeg = 0.02, rhoend = 2e-9, maxfun = 100000))))
    v <- as.data.frame(VarCorr(fit)); cup <- v$vcov[v$grp == "Residual"]; both <- v$vcov[v$grp == "TW"]
    b <- fixef(fit); V <- as.matrix(vcov(fit))
    df_of <- function(w) contest1D(fit, w)$df
    tested <- function(rows) {
      f <- contestMD(fit, rows)
      list(f = f[["F value"]], df = f[["NumDF"]], df_noise = f[["DenDF"]], p = f[["Pr(>F)"]])
    }
  }
  if (!repeated || isSingular(fit, tol = 1e-5)) {
    stopifnot(!repeated || (complete && length(extras) == 0))
    if (repeated) {
      cup <- sum((d$value - ave(d$value, d$TW))^2) / (nrow(d) - length(cups))
      means <- aggregate(d["value"], d[c("W", "T", levels_)], mean)
      fit <- lm(as.formula(formula), means)
      both <- summary(fit)$sigma^2 - cup / cups[[1]]
    } else {
      fit <- lm(as.formula(formula), d); cup <- summary(fit)$sigma^2
    }
    b <- coef(fit); V <- vcov(fit); left <- fit$df.residual
    df_of <- function(w) left
    tested <- function(rows) {
      e <- rows %*% b; f <- drop(t(e) %*% solve(rows %*% V %*% t(rows), e)) / nrow(rows)
      list(f = f, df = nrow(rows), df_noise = left, p = pf(f, nrow(rows), left, lower.tail = FALSE))
    }
  }
  unit <- function(i) as.numeric(seq_along(b) == i)
  at <- match(levels_, names(b))
  L <- matrix(0, J, length(b)); L[cbind(seq_len(J - 1), at)] <- 1; L[J, at] <- -1
  S2 <- sum((L %*% b)^2) / (J - 1); noise <- sum(diag(L %*% V %*% t(L))) / (J - 1)
  own <- diag(V)[1:k]; rest <- own - noise / J
  variance <- S2 / J + pmax(0, rest)
  df <- variance^2 / ((S2 / J)^2 / (J - 1) + pmax(0, rest)^2 / sapply(1:k, function(i) df_of(unit(i))))
  reach <- qt(0.975, df) * sqrt(variance)
  if (complete && length(extras) == 0 && S2 - noise > 0 && (!repeated || both > 0)) {
    random <- suppressMessages(lmer(as.formula(paste("value ~ 0 + W + (1 | T)", if (repeated) "+ (1 | TW)")), d,
      control = lmerControl(optimizer = "bobyqa", optCtrl = list(rhobeg = 0.02, rhoend = 2e-9, maxfun = 100000))))
    other <- contest1D(random, unit(1)[1:k])
    stopifnot(abs(other[["Std. Error"]] / sqrt(variance[1]) - 1) < 1e-5, abs(other$df / df[1] - 1) < 1e-4)
  }
  pairs <- do.call(rbind, lapply(1:(k - 1), function(i) do.call(rbind, lapply((i + 1):k, function(j) {
    w <- unit(i) - unit(j); estimate <- sum(w * b); se <- sqrt(drop(w %*% V %*% w)); own <- df_of(w)
    t <- abs(estimate) / se
    data.frame(first = i, second = j, estimate = estimate, se = se, df = own, p = 2 * pt(-t, own),
               p_tukey = ptukey(t * sqrt(2), k, own, lower.tail = FALSE))
  }))))
  pairs$p_holm <- p.adjust(pairs$p, "holm")
  between <- t(sapply(1:(k - 1), function(i) unit(i) - unit(i + 1)))
  if (k == 2) between <- matrix(unit(1) - unit(2), 1)
  c(list(set = name, extras = I(extras), taster = S2 - noise, taster_by_water = both, cup = cup,
         waters = tested(between),
         means = data.frame(mean = b[1:k], se = sqrt(variance), df = df, lower = b[1:k] - reach,
                            upper = b[1:k] + reach),
         pairs = pairs),
    lapply(blocks, function(one) tested(t(sapply(match(one, names(b)), unit)))))
}

models <- lapply(names(sets), function(name) analyse(name, sets[[name]], character(0)))
models <- c(models, list(analyse("orders", sets$orders, "order"),
                         analyse("orders", sets$orders, c("order", "carry_over"))))
here <- dirname(sub("--file=", "", grep("--file=", commandArgs(FALSE), value = TRUE)))
write.csv(do.call(rbind, sets), file.path(here, "score_data.csv"), row.names = FALSE, quote = FALSE)
write(toJSON(models, digits = 12, auto_unbox = TRUE, dataframe = "columns"),
      file.path(here, "score_models.json"))
