using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Replays;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Replays;

/// <summary>A generated life obeyed once more by the shop in memory, and its line of a results file.</summary>
internal sealed class ReplayedLife
{
    private static readonly JsonSerializerOptions Plain = new();

    private ReplayedLife(ContractHistory history, KnownReference reference) => (History, Reference) = (history, reference);

    public ContractHistory History { get; }

    public KnownReference Reference { get; }

    public LocalDate Today => History.Entries.Max(entry => entry.Event.On).PlusMonths(2);

    /// <summary>The life of a seed; null where its signing was refused.</summary>
    public static ReplayedLife? Of(int seed, int steps = 40)
    {
        var life = Life.Generate(seed, steps);
        var shop = new MemoryShop(InMemoryShop.Zone);
        foreach (var (command, _, _) in life.Shop.Accepted)
        {
            var refusal = shop.Apply(Encoding.UTF8.GetBytes(command.ToJsonString(Plain)));
            Assert.True(refusal is null, $"{command}: {refusal?.Detail}");
        }

        return shop.Histories.FirstOrDefault() is { IsSigned: true } history ? new ReplayedLife(history, shop.Reference) : null;
    }

    /// <summary>Its line as these rules write it, perhaps of a history made otherwise.</summary>
    public byte[] Line(ContractHistory? otherwise = null, KnownReference? reference = null) =>
        new ResultWriter(JavaScriptEncoder.Default, KindOf).Write(otherwise ?? History, reference ?? Reference, Today).ToArray();

    /// <summary>Where two lines first part.</summary>
    public static FirstDifference? Part(byte[] theirs, byte[] ours)
    {
        var (contract, was, wasBroken) = ResultLine.Read(theirs, ResultShape.Ours);
        var (_, now, nowBroken) = ResultLine.Read(ours, ResultShape.Ours);
        return FirstDifference.Of(contract, (was, wasBroken, ResultShape.Ours), (now, nowBroken, ResultShape.Ours));
    }

    public static string KindOf(ContractEvent fact) => fact.GetType().Name;
}
