using Contracts.Books;
using NodaTime;

namespace Contracts.Store.Books;

/// <summary>One cell of the cube, without the day of recording, which is the same for all of a transaction.</summary>
internal readonly record struct Cell(int Account, string Authority, string Shop, LocalDate BookedOn, LocalDate EffectiveOn, LocalDate RecordedOn);

/// <summary>Sums posting sets into cells, periods day by day.</summary>
internal sealed class CellSums
{
    private readonly Dictionary<Cell, long> cells = [];

    public IReadOnlyDictionary<Cell, long> Cells => cells;

    public void Add(PostingSet set, int sign = 1)
    {
        var recordedOn = set.At.InUtc().Date;
        foreach (var line in set.Lines)
        {
            var code = AccountCode.Of(line);
            if (line.Spread is not { } spread)
            {
                Add(new Cell(code, line.Authority, set.Shop, set.BookedOn(line.On), line.On, recordedOn), line.Amount.Cents * sign);
                continue;
            }

            var before = spread.Through(line.Amount, line.On.PlusDays(-1));
            for (var day = line.On; day < spread.To; day = day.PlusDays(1))
            {
                var through = spread.Through(line.Amount, day);
                Add(new Cell(code, line.Authority, set.Shop, set.BookedOn(day), day, recordedOn), (through - before).Cents * sign);
                before = through;
            }
        }
    }

    private void Add(Cell cell, long cents)
    {
        if (cents == 0) { return; }
        System.Runtime.InteropServices.CollectionsMarshal.GetValueRefOrAddDefault(cells, cell, out _) += cents;
    }
}
