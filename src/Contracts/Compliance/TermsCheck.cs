using System.Globalization;
using Contracts.Law;

namespace Contracts.Compliance;

/// <summary>
/// Holds the terms of an agreement against the pack of its state. What a pack forbids is named with its section and the
/// figure that would be right; what could not be checked is named too, since a rule that was not read may still exist.
/// </summary>
public static class TermsCheck
{
    /// <param name="pack">The pack for agreements of that day, or null where none is known.</param>
    /// <param name="facts">The agreement.</param>
    /// <param name="counselNote">What counsel has said of signing in that state, where something was recorded.</param>
    public static LawFindings Of(LawPack? pack, AgreementFacts facts, string? counselNote)
    {
        var (violations, left) = (new List<LawViolation>(), new List<string>());
        if (pack is null)
        {
            left.Add("no law pack is loaded for this state and day: nothing was checked");
            return new LawFindings(violations, left);
        }

        if (facts.SchoolUse && pack.Scope is { } scope && scope.Exclusions.Contains(LawScope.SchoolInstrument))
        {
            left.Add($"{scope.Citation} leaves out instruments for school use: the act was not applied");
            return new LawFindings(violations, left);
        }

        Treat(pack, facts, counselNote, violations, left);
        Prices(pack, facts, violations, left);
        Late(pack, facts, violations, left);
        Plan(pack, facts, violations);
        Credit(pack, facts, violations);
        if (!pack.AbsentMeansNone) { left.Add($"{pack.Act} was not read in whole: a rule that is not in the pack may exist"); }
        return new LawFindings(violations, left);
    }

    private static void Treat(LawPack pack, AgreementFacts facts, string? counselNote, List<LawViolation> violations, List<string> left)
    {
        if (!string.IsNullOrWhiteSpace(counselNote)) { return; }
        if (pack.Treatment == Treatment.CreditSale)
        {
            var why = $"{pack.Name} takes a rent-to-own agreement for a sale on credit; counsel has to say first how one can be signed.";
            violations.Add(new LawViolation("treatment", pack.Act, "state", why, null));
        }

        foreach (var test in pack.Of<LawRule.CreditSaleTest>(facts.On))
        {
            if (facts.RetailValue is null) { left.Add($"{test.Citation}: the average retail value was not given; the cash price stood in for it"); }
            var line = test.Factor * Fraction.Of(facts.RetailValue ?? facts.Terms.CashPrice);
            if (Fraction.Of(facts.Terms.TotalRent) > line)
            {
                violations.Add(new LawViolation(
                    test.Kind, test.Citation, "terms.purchasePrice",
                    $"The total of payments, {facts.Terms.TotalRent}, is more than {Times(test.Factor)} the average retail value: the agreement would be a sale on credit.",
                    line.RoundedDown().ToString()));
            }
        }
    }

    private static void Prices(LawPack pack, AgreementFacts facts, List<LawViolation> violations, List<string> left)
    {
        foreach (var rule in pack.Rules.OfType<LawRule.PriceCap>().Where(rule => rule.HoldsOn(facts.On) && PriceLimits.IsAbout(rule, facts) && rule.Binding))
        {
            if (!rule.IsApplied) { left.Add($"{rule.Citation}: its limit on the {Word(rule.Subject)} was not read"); continue; }
            var (limit, missing) = PriceLimits.Of(pack, rule, facts);
            if (missing is not null) { left.Add($"{rule.Citation}: {missing}"); }
            if (limit is not { } most || Fraction.Of(PriceLimits.Subject(rule, facts)) <= most) { continue; }
            violations.Add(new LawViolation(
                rule.Kind, rule.Citation, rule.Subject == CapSubject.CashPrice ? "terms.cashPrice" : "terms.purchasePrice",
                $"The {Word(rule.Subject)}, {PriceLimits.Subject(rule, facts)}, is above the limit of {most.RoundedDown()}.", most.RoundedDown().ToString()));
        }
    }

    private static void Late(LawPack pack, AgreementFacts facts, List<LawViolation> violations, List<string> left)
    {
        var fee = facts.Terms.LateFee;
        if (!fee.Amount.IsPositive) { return; }
        foreach (var rule in LateFees.Of(pack, facts.On))
        {
            if (rule.Forbidden || (rule.LateFeeForbidden && rule.Fee != "late"))
            {
                violations.Add(new LawViolation(rule.Kind, rule.Citation, "terms.lateFee.amount", "A late fee is forbidden.", Money.Zero.ToString()));
                continue;
            }

            if (rule.Fee != "late") { continue; }
            if (rule.Amount?.For(facts.Terms.MonthlyRent) is not { } most) { left.Add($"{rule.Citation}: it gives no figure for a late fee"); }
            else if (Fraction.Of(fee.Amount) > most)
            {
                violations.Add(new LawViolation(
                    rule.Kind, rule.Citation, "terms.lateFee.amount",
                    $"A late fee of {fee.Amount} on a payment of {facts.Terms.MonthlyRent} is above the limit of {most.RoundedDown()}.", most.RoundedDown().ToString()));
            }

            foreach (var grace in rule.Graces.Where(grace => LateFees.IsMonthly(grace.Frequency)))
            {
                var days = LateFees.GraceDays(grace);
                if (fee.GraceDays >= days) { continue; }
                violations.Add(new LawViolation(
                    rule.Kind, rule.Citation, "terms.lateFee.graceDays",
                    $"A late fee may come only when a payment is {Bound(grace)} late.", days.ToString(CultureInfo.InvariantCulture)));
            }
        }
    }

    private static void Plan(LawPack pack, AgreementFacts facts, List<LawViolation> violations)
    {
        if (facts.Terms.Plan is not { } plan) { return; }
        foreach (var rule in pack.Of<LawRule.Waiver>(facts.On))
        {
            foreach (var (frequency, amount) in rule.Price)
            {
                if (!LateFees.IsMonthly(frequency) || amount.For(facts.Terms.MonthlyRent) is not { } most || Fraction.Of(plan.Monthly) <= most) { continue; }
                violations.Add(new LawViolation(
                    rule.Kind, rule.Citation, "terms.plan.monthly",
                    $"A protection plan of {plan.Monthly} a month is above the limit of {most.RoundedDown()}.", most.RoundedDown().ToString()));
            }
        }
    }

    private static void Credit(LawPack pack, AgreementFacts facts, List<LawViolation> violations)
    {
        foreach (var rule in pack.Of<LawRule.MinimumCreditShare>(facts.On))
        {
            if (Fraction.Of(facts.Terms.CreditShare) >= rule.Share) { continue; }
            violations.Add(new LawViolation(
                rule.Kind, rule.Citation, "terms.creditShare",
                $"Of each payment {facts.Terms.CreditShare} counts toward ownership; at least {rule.Share} has to.", AtLeast(rule.Share).ToString()));
        }
    }

    /// <summary>The least rate that is not below a share: a limit from below is rounded up.</summary>
    private static Rate AtLeast(Fraction share)
    {
        var units = share * Fraction.Of(Rate.Whole.Units, 1);
        var whole = units.RoundedDown().Cents;
        return new Rate(Fraction.Of(whole, 1) == units ? whole : whole + 1);
    }

    private static string Bound(Grace grace)
    {
        var days = string.Create(CultureInfo.InvariantCulture, $"{grace.Count} {(grace.BusinessDays ? "business days" : "days")}");
        return grace.Bound == "at-least" ? $"at least {days}" : $"more than {days}";
    }

    private static string Times(Fraction factor) => string.Create(CultureInfo.InvariantCulture, $"{(decimal)factor.Above / (decimal)factor.Below:0.00##} times");

    private static string Word(CapSubject subject) => subject switch
    {
        CapSubject.CashPrice => "cash price",
        CapSubject.TotalOfPayments => "total of payments",
        _ => "cost of rental",
    };
}
