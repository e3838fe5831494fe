using System.Collections.Immutable;
using NodaTime;

namespace Contracts.Law;

/// <summary>
/// The law of one jurisdiction on rent-to-own agreements, as far as it was read: data with citations, never advice.
/// What stands here was read by laypeople; local counsel has to confirm every line before a shop relies on it.
/// </summary>
/// <param name="Jurisdiction">The USPS code of a state, or a name of federal rules that begins with <c>US-</c>.</param>
/// <param name="Name">The jurisdiction's name.</param>
/// <param name="Act">The act, as lawyers cite it.</param>
/// <param name="Version">Counted from 1 for the packs that come with the program; an adopted pack goes on from there.</param>
/// <param name="From">The first day of agreements it is for, or null where the texts read do not say.</param>
/// <param name="Verified">How much of the act was read.</param>
/// <param name="Treatment">What the jurisdiction takes such an agreement for.</param>
/// <param name="Scope">Which agreements the act covers, or null where that was not read.</param>
/// <param name="OpenPoints">Sections that were not read, conflicts, doubts.</param>
/// <param name="Rules">The rules, in the order of the file.</param>
/// <param name="Sources">The texts that were read, by the name that rules give as their source.</param>
/// <param name="Digest">SHA-256 of the file's bytes, in hexadecimal.</param>
public sealed record LawPack(
    string Jurisdiction,
    string Name,
    string Act,
    int Version,
    LocalDate? From,
    TextRead Verified,
    Treatment Treatment,
    LawScope? Scope,
    ImmutableArray<string> OpenPoints,
    ImmutableArray<LawRule> Rules,
    ImmutableDictionary<string, LawSource> Sources,
    string Digest)
{
    /// <summary>The file as it was read.</summary>
    public ReadOnlyMemory<byte> File { get; init; }

    /// <summary>Only for contracts from before packs were recorded: their ceilings were rounded to the nearest cent.</summary>
    internal bool RoundsToNearest { get; init; }

    /// <summary>How events and papers name it: <c>HI.1</c>.</summary>
    public string Reference => $"{Jurisdiction}.{Version}";

    /// <summary>Whether a rule that is not in the pack is known not to be in the act, and not merely unread.</summary>
    public bool AbsentMeansNone => Verified == TextRead.Whole;

    /// <summary>
    /// The rules of a kind that are applied to agreements of a day: those whose content was read. What is from memory is kept
    /// and shown, and never enforced.
    /// </summary>
    public IEnumerable<T> Of<T>(LocalDate day)
        where T : LawRule
    {
        foreach (var rule in Rules)
        {
            if (rule is T wanted && rule.IsApplied && rule.HoldsOn(day)) { yield return wanted; }
        }
    }
}

/// <summary>How much of an act was read.</summary>
public enum TextRead
{
    /// <summary>The whole act.</summary>
    Whole,

    /// <summary>Some of its sections; what is missing may exist.</summary>
    Partial,

    /// <summary>No text: what stands here is from memory.</summary>
    Memory,
}

/// <summary>How these are written.</summary>
public static class VerifiedWords
{
    public static string Word(this TextRead read) => read switch { TextRead.Whole => "whole", TextRead.Partial => "partial", _ => "memory" };

    public static string Word(this Verified verified) => verified switch { Verified.Read => "read", Verified.PartlyRead => "partly-read", _ => "from-memory" };
}

/// <summary>How one rule was verified.</summary>
public enum Verified
{
    /// <summary>Its figures were seen in the named text.</summary>
    Read,

    /// <summary>The text broke off, or is an earlier or proposed one; the rule says which.</summary>
    PartlyRead,

    /// <summary>No text was seen.</summary>
    FromMemory,
}

/// <summary>What a jurisdiction takes a rent-to-own agreement for.</summary>
public enum Treatment
{
    /// <summary>A kind of its own, with an act of its own.</summary>
    RentalPurchaseAct,

    /// <summary>The same, and courts have also taken such deals for credit sales.</summary>
    RentalPurchaseActAndCreditSaleLaw,

    /// <summary>A consumer lease with a short term.</summary>
    ShortTermLeaseAct,

    /// <summary>A sale on credit: signing is refused until counsel has said how it can be done.</summary>
    CreditSale,

    /// <summary>A sale on credit when a test is met.</summary>
    CreditSaleIfTestMet,

    /// <summary>Federal rules that draw a line around such agreements.</summary>
    FederalBoundary,
}

/// <summary>Which agreements an act covers.</summary>
/// <param name="FirstTermAtMostMonths">The longest first term, in months; null where no such limit was read.</param>
/// <param name="Exclusions">What the act leaves out, in words such as <c>school-instrument</c>.</param>
/// <param name="Citation">The sections.</param>
/// <param name="Verified">How they were verified.</param>
public sealed record LawScope(int? FirstTermAtMostMonths, ImmutableArray<string> Exclusions, string Citation, Verified Verified)
{
    /// <summary>The word for instruments meant mainly for elementary or secondary school use.</summary>
    public const string SchoolInstrument = "school-instrument";
}

/// <summary>A text that was read.</summary>
/// <param name="Text">Which, and where it is public.</param>
/// <param name="How">In what form it was read.</param>
/// <param name="AsOf">The date of the text, as it says of itself.</param>
/// <param name="WholeAct">Whether the whole act was read in it.</param>
public sealed record LawSource(string Text, string How, string AsOf, bool WholeAct);
