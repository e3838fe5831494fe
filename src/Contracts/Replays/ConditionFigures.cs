using System.Collections.Frozen;
using Contracts.Disclosures;
using NodaTime;

namespace Contracts.Replays;

/// <summary>What a condition can look at beside amounts and counts.</summary>
internal static class ConditionFigures
{
    /// <summary>Words of the account or of the event.</summary>
    public static readonly FrozenDictionary<string, Func<WalkStep, string?>> Words = new Dictionary<string, Func<WalkStep, string?>>(StringComparer.Ordinal)
    {
        ["status"] = step => step.Figures?.Status,
        ["instrument.serial"] = step => step.Figures?.Serial,
        ["instrument.kind"] = step => step.Figures?.Kind,
        ["earlyPurchase.basis"] = step => step.Figures?.EarlyPurchase.Basis,
        ["event"] = step => step.Event is { } one ? WordOf(one.Event.GetType().Name) : ResultLine.Today,
        ["key"] = step => step.Event?.Key,
        ["by"] = step => step.Event?.Actor,
    }.ToFrozenDictionary(StringComparer.Ordinal);

    /// <summary>Days: of the event, of the figures, and of what falls due next.</summary>
    public static readonly FrozenDictionary<string, Func<WalkStep, LocalDate?>> Days = new Dictionary<string, Func<WalkStep, LocalDate?>>(StringComparer.Ordinal)
    {
        ["on"] = step => step.Event?.Event.On,
        ["figuresOn"] = step => step.Figures?.On,
        ["nextDue.on"] = step => step.Figures?.NextDue?.On,
    }.ToFrozenDictionary(StringComparer.Ordinal);

    /// <summary>The place of an amount or count, or null.</summary>
    public static int? Number(string name) => FigureVector.Numbers.IndexOf(name) is >= 0 and var index ? index : null;

    /// <summary>Whether a number counts and is no amount.</summary>
    public static bool IsCount(string name) => name.StartsWith("installments.", StringComparison.Ordinal);

    /// <summary>The number of an account at a place, or null where nothing is signed.</summary>
    public static long? Value(Account? account, int index)
    {
        if (account is null) { return null; }
        Span<long> numbers = stackalloc long[FigureVector.Numbers.Length];
        FigureVector.Read(account, numbers);
        return numbers[index];
    }

    /// <summary>The name of an event's type in small letters with hyphens, such as <c>payment-received</c>.</summary>
    private static string WordOf(string name)
    {
        var text = new System.Text.StringBuilder();
        foreach (var letter in name)
        {
            if (char.IsAsciiLetterUpper(letter) && text.Length > 0) { text.Append('-'); }
            text.Append(char.ToLowerInvariant(letter));
        }

        return text.ToString();
    }
}
