using Contracts.Instruments;
using Contracts.Law;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Compliance;

/// <summary>What the rules of a pack ask about an agreement; what nobody said is null and keeps a rule unchecked.</summary>
/// <param name="On">The day of the agreement.</param>
/// <param name="Terms">Its terms.</param>
/// <param name="Cost">What the unit cost the shop.</param>
/// <param name="Used">Whether the unit was rented before.</param>
/// <param name="EarlierRents">All rents ever paid on the unit under other agreements.</param>
/// <param name="RetailValue">The average price at which shops in the area sell such a unit for cash.</param>
/// <param name="SchoolUse">Whether the unit is meant mainly for elementary or secondary school use.</param>
public sealed record AgreementFacts(
    LocalDate On, ContractTerms Terms, Money? Cost, bool Used, Money? EarlierRents, Money? RetailValue, bool SchoolUse)
{
    /// <summary>What an agreement says of its unit and its terms.</summary>
    public static AgreementFacts Of(LocalDate on, ContractTerms terms, Instrument instrument) => new(
        on, terms, instrument.Cost, instrument.Condition == "used", instrument.EarlierRents, instrument.RetailValue, instrument.SchoolUse ?? false);
}

/// <summary>A rule that the terms of an agreement break.</summary>
/// <param name="Rule">The kind of the rule, or <c>treatment</c>.</param>
/// <param name="Citation">The section.</param>
/// <param name="Field">The field of the terms or the instrument that breaks it.</param>
/// <param name="Detail">What is wrong.</param>
/// <param name="Right">The figure that would be right, where there is one.</param>
public sealed record LawViolation(string Rule, string Citation, string Field, string Detail, string? Right);

/// <summary>What a pack has to say about an agreement.</summary>
/// <param name="Violations">What it forbids, in the order of its rules.</param>
/// <param name="Unchecked">What could not be checked, and why: a fact that was not given, a section that was not read.</param>
public sealed record LawFindings(IReadOnlyList<LawViolation> Violations, IReadOnlyList<string> Unchecked);
