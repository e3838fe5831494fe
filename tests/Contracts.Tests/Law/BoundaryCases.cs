using System.Collections.Immutable;
using System.Globalization;
using Contracts.Compliance;
using Contracts.Law;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Tests.Law;

/// <summary>
/// For every rule of a pack what happens a cent or a day below its limit, at it and above it, as lines of text. The
/// agreement is invented: cost 450.00, cash price 855.00, 36 payments of 39.00, signed on 2026-01-05.
/// </summary>
internal static class BoundaryCases
{
    private static readonly LocalDate Signed = new(2026, 1, 5);
    private static readonly Money Cent = new(1);

    public static IEnumerable<(int Rule, string Line)> Of(LawPack pack)
    {
        for (var index = 0; index < pack.Rules.Length; index++)
        {
            var rule = pack.Rules[index];
            foreach (var line in rule.Loaded ? Lines(pack, rule) : ["not read: nothing is worked out from it"]) { yield return (index, line); }
        }
    }

    private static IEnumerable<string> Lines(LawPack pack, LawRule rule) => rule switch
    {
        LawRule.PriceCap cap => Caps(pack, cap),
        LawRule.CreditSaleTest test => Around((test.Factor * Fraction.Of(new Money(90_000))).RoundedDown(), total =>
            Verdict(pack, rule, Facts(total: total))),
        LawRule.FeeCap fee when fee.Fee == "late" || fee.LateFeeForbidden => Late(pack, fee),
        LawRule.Waiver waiver => waiver.Price.SelectMany(price => price.Amount.For(new Money(3900)) is { } most
            ? Around(most.RoundedDown(), plan => $"{price.Frequency}: " + Verdict(pack, rule, Facts(plan: plan)))
            : [$"{price.Frequency}: no figure"]).DefaultIfEmpty("no price limit was read"),
        LawRule.PurchasePrice price => Price(price),
        LawRule.OwnershipTrigger trigger => [$"cash price 855.00: title passes when {(Fraction.Of(new Money(85_500)) * new Fraction(trigger.Share.Below, trigger.Share.Above)).RoundedDown()} of rent is paid"],
        LawRule.Reinstatement window => Window(pack, window),
        LawRule.NewAgreement change => change.ChangeShare is { } share
            ? Around((share * Fraction.Of(new Money(3900))).RoundedDown(), by => Fraction.Of(by) > share * Fraction.Of(new Money(3900)) ? "a new agreement" : "not a new one")
            : ["no figure: whether a change makes a new agreement is not worked out"],
        LawRule.Disclosure disclosure => [$"{disclosure.Placement}: {string.Join(", ", disclosure.Items)}"],
        LawRule.Receipt receipt => [$"{receipt.Trigger}{(receipt.OnRequest ? ", on request" : "")}: {string.Join(", ", receipt.Items.DefaultIfEmpty("no items named"))}"],
        LawRule.MinimumCreditShare least => Credit(pack, least),
        LawRule.LossCap cap => Loss(cap),
        LawRule.AllocationOrder order => [$"two payments of 39.00 past due, 39.00 comes: it pays the {(order.NewestFirst ? "newer" : "older")} one"],
        _ => ["kept as stated; the engine works nothing out from it"],
    };

    private static IEnumerable<string> Caps(LawPack pack, LawRule.PriceCap cap)
    {
        var facts = Facts(used: cap.Rental == WhichRental.Later || cap.Condition == "used");
        var (limit, missing) = PriceLimits.Of(pack, cap, facts);
        if (limit is not { } most) { return [$"cannot be worked out: {missing}"]; }
        return Around(most.RoundedDown(), amount => Verdict(pack, cap, cap.Subject switch
        {
            CapSubject.CashPrice => Facts(cash: amount, used: facts.Used),
            CapSubject.TotalOfPayments => Facts(total: amount, used: facts.Used),
            _ => Facts(total: amount + new Money(85_500), used: facts.Used),
        }));
    }

    private static IEnumerable<string> Late(LawPack pack, LawRule.FeeCap fee)
    {
        if (!LateFees.IsMonthly(fee.Frequency)) { return [$"for {fee.Frequency} payments: a monthly contract is not held against it"]; }
        if (fee.Forbidden || fee.Fee != "late") { return [$"0.01: {Verdict(pack, fee, Facts(late: new LateFeeTerms(Cent, 30)))}"]; }
        var amounts = fee.Amount?.For(new Money(3900)) is { } most
            ? Around(most.RoundedDown(), amount => Verdict(pack, fee, Facts(late: new LateFeeTerms(amount, 30))))
            : ["no figure for the amount"];
        var days = fee.Graces.Where(grace => LateFees.IsMonthly(grace.Frequency)).SelectMany(grace =>
        {
            var fewest = LateFees.GraceDays(grace);
            var unit = grace.BusinessDays ? "business days" : "days";
            return new[] { fewest - 1, fewest, fewest + 1 }.Where(number => number >= 0).Select(number => string.Create(
                CultureInfo.InvariantCulture,
                $"{grace.Bound} {grace.Count} {unit} late, {number} grace days: {Verdict(pack, fee, Facts(late: new LateFeeTerms(Cent, number)))}"));
        });
        return amounts.Concat(days);
    }

    private static IEnumerable<string> Price(LawRule.PurchasePrice rule)
    {
        var seen = new HashSet<string>();
        foreach (var made in new[] { 0, 1, 2, 3, 12, 35, 36 })
        {
            var paid = new Money(3900).Times(made);
            var standing = new PriceStanding(
                Signed, Signed.PlusMonths(made), new Money(85_500), new Money(90_000), new Money(140_400), new Money(140_400) - paid, paid, 36 - made, 36, new Money(3900));
            var exact = PriceCeilings.Exact(rule, standing);
            var price = exact is { } cents
                ? (rule.FloorOfOnePayment ? Money.Max(cents.RoundedDown(), standing.Payment) : cents.RoundedDown()).ToString()
                : "no ceiling by this rule";
            if (exact is null && !seen.Add(price)) { continue; }
            yield return string.Create(CultureInfo.InvariantCulture, $"{made} of 36 paid: {price}{(exact is { } whole ? $" ({whole} cents)" : "")}");
        }
    }

    private static IEnumerable<string> Credit(LawPack pack, LawRule.MinimumCreditShare rule)
    {
        var units = (rule.Share * Fraction.Of(Rate.Whole.Units, 1)).RoundedDown().Cents;
        foreach (var share in new[] { units - 1, units, units + 1 }.Where(share => share is > 0 and <= 100_000_000))
        {
            var facts = Facts();
            yield return $"{new Rate(share)}: {Verdict(pack, rule, facts with { Terms = facts.Terms with { CreditShare = new Rate(share) } })}";
        }
    }

    /// <summary>12 of 36 payments made, early purchase price 600.00; the unit worth a cent less than what else limits the charge, as much, and more.</summary>
    private static IEnumerable<string> Loss(LawRule.LossCap rule)
    {
        if (!rule.Binding) { yield return "not about what a family owes: nothing is limited"; yield break; }
        if (rule.LesserOf.IsEmpty) { yield return "the family chooses: nothing is limited"; yield break; }
        var (paid, price) = (new Money(46_800), new Money(60_000));
        var standing = new PriceStanding(
            Signed, Signed.PlusMonths(12), new Money(85_500), new Money(90_000), new Money(140_400), new Money(140_400) - paid, paid, 24, 36, new Money(3900));
        var pivot = Money.Min(LossLimits.Of(rule, standing, price, null) ?? price, price);
        foreach (var worth in new Money?[] { null, pivot - Cent, pivot, pivot + Cent })
        {
            var most = LossLimits.Of(rule, standing, price, worth);
            yield return $"worth {(worth is { } known ? known.ToString() : "not said")}: "
                + (most is { } limit ? $"at most {limit}, so {Money.Min(limit, price)} of {price}" : $"no limit can be worked out, so {price}");
        }
    }

    private static IEnumerable<string> Window(LawPack pack, LawRule.Reinstatement rule)
    {
        var only = pack with { Rules = [rule] };
        if (rule.AfterRepossession) { yield return "after a repossession: a return is not held against it"; yield break; }
        var shares = rule.AfterReturn.Select(tier => tier.Share).Where(share => share != Fraction.Zero).Distinct()
            .SelectMany(share => new[] { share - Fraction.Of(1, 140_400), share, share + Fraction.Of(1, 140_400) }).DefaultIfEmpty(Fraction.Of(1, 3));
        foreach (var share in shares)
        {
            var last = ReinstatementWindows.LastDay(only, Signed, new LocalDate(2026, 3, 14), new LocalDate(2026, 4, 5), share, share);
            yield return $"{share} paid, paid through 2026-04-05, returned 2026-03-14: {(last is { } day ? NodaTime.Text.LocalDatePattern.Iso.Format(day.Last) : "no window that can be counted")}";
        }
    }

    private static IEnumerable<string> Around(Money limit, Func<Money, string> verdict) =>
        new[] { limit - Cent, limit, limit + Cent }.Where(amount => amount >= Money.Zero).Select(amount => $"{amount}: {verdict(amount)}");

    private static string Verdict(LawPack pack, LawRule rule, AgreementFacts facts) =>
        TermsCheck.Of(pack, facts, null).Violations.Any(found => found.Citation == rule.Citation && found.Rule == rule.Kind) ? "refused" : "allowed";

    private static AgreementFacts Facts(Money? cash = null, Money? total = null, Money? plan = null, LateFeeTerms? late = null, bool used = false) => new(
        Signed,
        new ContractTerms(
            cash ?? new Money(85_500), total ?? new Money(85_500), new IntroductoryPeriod(0, Money.Zero), new Money(3900), Rate.Whole,
            ImmutableArray<EarlyPurchaseTier>.Empty, plan is { } monthly ? new ProtectionPlan(monthly, false) : null, late ?? new LateFeeTerms(Money.Zero, 0), Money.Zero),
        new Money(45_000), used, new Money(40_000), new Money(90_000), false);
}
