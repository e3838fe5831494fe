using System.Collections.Immutable;

namespace Contracts.Books.Depreciation;

/// <summary>The answer to one condition.</summary>
public enum ConditionAnswer
{
    /// <summary>The facts given say nothing on it, or not enough.</summary>
    NotKnown = 0,

    /// <summary>The facts given meet it.</summary>
    Met = 1,

    /// <summary>The facts given break it.</summary>
    NotMet = 2,
}

/// <summary>One condition of the act, the answer, and the figures or words behind it.</summary>
/// <param name="Clause">Its place, such as <c>168(i)(14)(D)(ii)</c>.</param>
/// <param name="Asks">What it asks, in short and in our own words.</param>
/// <param name="Answer">The answer.</param>
/// <param name="Because">Why, with the figures that decided.</param>
public sealed record QualificationCondition(string Clause, string Asks, ConditionAnswer Answer, string Because);

/// <summary>
/// The conditions under which instruments are qualified rent-to-own property, that is 3-year property (26 USC
/// 168(e)(3)(A)(iii) and (i)(14), read in a public text of 2023). A list to take to a tax adviser, who decides; never a
/// ruling. A small first payment breaks the condition of level payments, and a small last one can.
/// </summary>
/// <param name="Conditions">The conditions in the order of the act.</param>
public sealed record RentToOwnQualification(ImmutableArray<QualificationCondition> Conditions)
{
    /// <summary>Goes with every answer that is shown to anybody.</summary>
    public const string Caution = "Not tax advice: a tax adviser decides on the property class.";

    private const int MostMonths = 36;
    private const int MostWeeks = 156;
    private static readonly Money MostInAll = new(10_000_00);

    /// <summary>Not met when any condition is not met, else not known when any is not known.</summary>
    public ConditionAnswer Answer =>
        Conditions.Any(condition => condition.Answer == ConditionAnswer.NotMet) ? ConditionAnswer.NotMet
        : Conditions.All(condition => condition.Answer == ConditionAnswer.Met) ? ConditionAnswer.Met
        : ConditionAnswer.NotKnown;

    /// <summary>Looks at each condition with the facts given.</summary>
    public static RentToOwnQualification Of(RentToOwnFacts facts)
    {
        ArgumentNullException.ThrowIfNull(facts);
        return new RentToOwnQualification(
        [
            Told("(B)", "a substantial part of the dealer's contracts end in a return", facts.ManyContractsEndInReturn),
            Told("(C)", "property of a type generally used within the home for personal use", facts.UsedInTheHome),
            Told("(D)(i)", "titled rent-to-own agreement or similar", facts.TitledRentToOwn),
            Regular(facts),
            Level(facts),
            Told("(D)(iii)", "the dealer keeps title until all is paid", facts.ShopKeepsTitle),
            Term(facts),
            AboveRetail(facts),
            InAll(facts),
            Told("(D)(vii)", "the customer may stop at each period's end by a return", facts.FamilyMayStop),
            Told("(D)(viii)", "the customer may not sell, sublease or pledge", !facts.FamilyMayDispose),
        ]);
    }

    private static QualificationCondition Regular(RentToOwnFacts facts) => new(
        Place("(D)(ii)"), "regular payments by week or month",
        facts.Period switch
        {
            null => ConditionAnswer.NotKnown,
            PaymentPeriod.Other => ConditionAnswer.NotMet,
            _ => ConditionAnswer.Met,
        },
        facts.Period is { } period ? $"payment period: {period}" : "the payment period is not known");

    /// <summary>Each payment at most the one before, and none under 40 % of the largest; exact, without rounding.</summary>
    private static QualificationCondition Level(RentToOwnFacts facts)
    {
        const string asks = "level payments, or falling ones with none under 40 % of the largest";
        var place = Place("(D)(ii)");
        if (facts.Payments.IsDefaultOrEmpty) { return new(place, asks, ConditionAnswer.NotKnown, "the payments are not known"); }
        for (var n = 1; n < facts.Payments.Length; n++)
        {
            var (before, after) = (facts.Payments[n - 1], facts.Payments[n]);
            if (after > before) { return new(place, asks, ConditionAnswer.NotMet, $"payment {n + 1} rises from {before} to {after}"); }
        }

        var (largest, smallest) = (facts.Payments[0], facts.Payments[^1]);
        return smallest.Times(5) < largest.Times(2)
            ? new(place, asks, ConditionAnswer.NotMet, $"the last payment of {smallest} is under 40 % of {largest}")
            : new(place, asks, ConditionAnswer.Met, $"from {largest} to {smallest}");
    }

    private static QualificationCondition Term(RentToOwnFacts facts)
    {
        const string asks = "at most 36 months or 156 weeks with renewals";
        var place = Place("(D)(iv)");
        return facts switch
        {
            { ScheduledMonths: > MostMonths } => new(place, asks, ConditionAnswer.NotMet, $"the schedule alone takes {facts.ScheduledMonths} months"),
            { MaximumMonths: > MostMonths } => new(place, asks, ConditionAnswer.NotMet, $"may last {facts.MaximumMonths} months"),
            { MaximumWeeks: > MostWeeks } => new(place, asks, ConditionAnswer.NotMet, $"may last {facts.MaximumWeeks} weeks"),
            { MaximumMonths: { } months } => new(place, asks, ConditionAnswer.Met, $"may last {months} months"),
            { MaximumWeeks: { } weeks } => new(place, asks, ConditionAnswer.Met, $"may last {weeks} weeks"),
            { ScheduledMonths: { } months } => new(
                place, asks, ConditionAnswer.NotKnown, $"the schedule takes {months} months, but holds move it; which maximum does the contract state?"),
            _ => new(place, asks, ConditionAnswer.NotKnown, "the term is not known"),
        };
    }

    /// <summary>The act names no rate of interest: above the price alone is not enough to say it is met.</summary>
    private static QualificationCondition AboveRetail(RentToOwnFacts facts)
    {
        const string asks = "all payments generally exceed the normal retail price plus interest";
        var place = Place("(D)(v)");
        if (facts.Payments.IsDefaultOrEmpty || facts.RetailPrice is not { } price)
        {
            return new(place, asks, ConditionAnswer.NotKnown, "payments or retail price are not known");
        }

        var all = Sum(facts.Payments);
        return all <= price
            ? new(place, asks, ConditionAnswer.NotMet, $"{all} in all, and the price is {price}")
            : new(place, asks, ConditionAnswer.NotKnown, $"{all} in all is above the price of {price}; the act names no interest rate");
    }

    private static QualificationCondition InAll(RentToOwnFacts facts)
    {
        const string asks = "at most 10,000 dollars in all per item";
        var place = Place("(D)(vi)");
        if (facts.Payments.IsDefaultOrEmpty) { return new(place, asks, ConditionAnswer.NotKnown, "the payments are not known"); }
        var all = Sum(facts.Payments);
        return new(place, asks, all <= MostInAll ? ConditionAnswer.Met : ConditionAnswer.NotMet, $"{all} in all");
    }

    private static QualificationCondition Told(string clause, string asks, bool? holds) => holds switch
    {
        null => new(Place(clause), asks, ConditionAnswer.NotKnown, "not told"),
        true => new(Place(clause), asks, ConditionAnswer.Met, "as told"),
        false => new(Place(clause), asks, ConditionAnswer.NotMet, "as told"),
    };

    private static string Place(string clause) => "168(i)(14)" + clause;

    private static Money Sum(ImmutableArray<Money> payments) => payments.Aggregate(Money.Zero, (sum, payment) => sum + payment);
}
