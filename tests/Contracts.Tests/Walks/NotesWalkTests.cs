using Contracts.Agreements;
using Contracts.History;
using Contracts.Payments;
using Contracts.Tests.Support;
using CsCheck;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Walks;

/// <summary>The quick look that says whether a command moved any charge that a note could be about.</summary>
public sealed class NotesWalkTests
{
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "2000", System.Globalization.CultureInfo.InvariantCulture);

    [Fact]
    public void Two_views_that_look_alike_have_the_same_charges_to_note() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = Life.Generate(seed);
        var rates = life.Shop.RatesAt(Instant.MaxValue);
        var whole = life.Shop.History(life.Contract);
        var (on, _) = life.Question();
        var views = whole.Entries.Select(entry => AccountFold.At(whole.ThroughSequence(entry.Sequence), rates, on)).OfType<AccountState>().ToList();
        var told = views.ConvertAll(Told);
        for (var index = 0; index < views.Count; index++)
        {
            for (var other = Math.Max(0, index - 5); other < index; other++)
            {
                if (Notes.ImplyTheSame(views[other], views[index])) { Assert.Equal(told[other], told[index]); }
            }
        }

        Assert.True(views.Count == 0 || Notes.ImplyTheSame(views[^1], views[^1]));
    }, iter: Math.Max(1, Lives / 4));

    private static List<string> Told(AccountState state) =>
    [
        .. state.Charges.Where(charge => charge.ReversedOn is null && charge.Kind is ChargeKind.Installment or ChargeKind.Late or ChargeKind.Unreturned or ChargeKind.Returned or ChargeKind.Loss)
            .Select(charge => $"{charge.Id} {charge.DueOn} {string.Join(' ', Enum.GetValues<ChargePart>().Select(charge.Of))}").Order(StringComparer.Ordinal),
    ];
}
