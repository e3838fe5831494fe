using Contracts.Compliance;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Law;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Agreements;

/// <summary>What the law pack of a contract forbids at signing and exchange, and how long it may be had back.</summary>
public static partial class ContractDecider
{
    /// <summary>The pack for agreements signed on a day in a state, or null where none is loaded.</summary>
    private static LawPack? PackFor(DecisionContext context, string state, LocalDate on) => context.Rates.Law.For(state, on);

    /// <summary>The first thing that the pack forbids in these terms, as a refusal with its section.</summary>
    private static Refusal? Unlawful(DecisionContext context, string state, LawPack? pack, LocalDate on, ContractTerms terms, Instrument instrument)
    {
        var findings = TermsCheck.Of(pack, AgreementFacts.Of(on, terms, instrument), context.Rates.Law.CounselNote(state));
        if (findings.Violations.Count == 0) { return null; }
        var first = findings.Violations[0];
        return new Refusal(RefusalCode.UnlawfulTerms, first.Detail, first.Field, first.Right, first.Citation);
    }

    /// <summary>What the act wants the agreement to tell and nobody said, as a refusal with its section.</summary>
    private static Refusal? Untold(LawPack? pack, LocalDate on, Instrument instrument) => DisclosureCheck.First(pack, on, instrument) is { } missing
        ? new Refusal(
            RefusalCode.DisclosureMissing,
            $"{missing.Asked.Citation} asks the agreement to tell '{missing.Asked.Item.Heading()}' ({missing.Asked.Item.Code()}), "
            + (missing.Field is { } field ? $"which '{field}' would say." : "which nothing that can be recorded says."),
            missing.Field, missing.Asked.Item == DisclosureItem.NewUsed ? "new or used" : null, missing.Asked.Citation)
        : null;

    /// <summary>The section by which other terms make a new agreement, which needs new disclosures; null where none says so.</summary>
    private static string? NewAgreement(LawPack? pack, LocalDate signedOn, ContractTerms before, ContractTerms after)
    {
        if (pack is null) { return null; }
        var change = Fraction.Of(Money.Max(before.MonthlyRent, after.MonthlyRent) - Money.Min(before.MonthlyRent, after.MonthlyRent));
        foreach (var rule in pack.Of<LawRule.NewAgreement>(signedOn))
        {
            // Only "more than" the share makes a new agreement; a rule of 0 percent is met by any change.
            if (rule.ChangeShare is { } share && change > share * Fraction.Of(before.MonthlyRent)) { return rule.Citation; }
        }

        return null;
    }
}
