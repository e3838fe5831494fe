using System.Collections.Immutable;
using System.Globalization;
using Contracts.Disclosures;
using Contracts.Explain;

namespace Contracts.WhatIf;

/// <summary>A figure that would be another one.</summary>
/// <param name="Figure">Its path in the account's JSON.</param>
/// <param name="IsMoney">Dollars in cents, or a count.</param>
/// <param name="Before">As it is.</param>
/// <param name="After">As it would be.</param>
public sealed record SupposedFigure(string Figure, bool IsMoney, long Before, long After)
{
    /// <summary>A number as answers write it: dollars with two decimals, or a whole number.</summary>
    public string Text(long value) => IsMoney ? new Money(value).ToString() : value.ToString(CultureInfo.InvariantCulture);

    /// <summary>The figures that differ between two accounts; before its signing an account has nothing in any.</summary>
    internal static ImmutableArray<SupposedFigure> Between(Account? before, Account? after) =>
    [
        .. ComparedFigures.Numbers
            .Select(number => new SupposedFigure(number.Path, number.IsMoney, before is null ? 0 : number.Of(before), after is null ? 0 : number.Of(after)))
            .Where(figure => figure.Before != figure.After),
    ];

    /// <summary>The words and days that differ.</summary>
    internal static ImmutableArray<WordDifference> Words(Account? before, Account? after) =>
    [
        .. ComparedFigures.Texts.Select(text => new WordDifference(text.Path, before is null ? null : text.Of(before), after is null ? null : text.Of(after)))
            .Where(word => word.From != word.To),
    ];
}
