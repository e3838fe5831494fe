using Contracts.Books;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Books;

/// <summary>Reads posting sets back.</summary>
internal static class PostingRows
{
    public const string Columns =
        "s.sequence, s.stream, s.shop, s.recorded_at, s.open_from, s.through, s.accounts, s.authorities, s.days, s.starts, s.ends, s.cents";

    public static PostingSet Read(NpgsqlDataReader reader)
    {
        var codes = reader.GetFieldValue<int[]>(6);
        var authorities = reader.IsDBNull(7) ? null : reader.GetFieldValue<string?[]>(7);
        var days = reader.GetFieldValue<LocalDate[]>(8);
        var starts = reader.IsDBNull(9) ? null : reader.GetFieldValue<LocalDate?[]>(9);
        var ends = reader.IsDBNull(10) ? null : reader.GetFieldValue<LocalDate?[]>(10);
        var cents = reader.GetFieldValue<long[]>(11);
        var lines = new BookLine[codes.Length];
        for (var index = 0; index < lines.Length; index++)
        {
            lines[index] = new BookLine(
                AccountCode.Account(codes[index]), AccountCode.Movement(codes[index]), authorities?[index] ?? "", days[index],
                starts?[index] is { } from ? new Spread(from, ends![index]!.Value) : null, new Money(cents[index]));
        }

        return new PostingSet(
            reader.GetInt64(0), reader.GetString(1), reader.GetString(2), reader.GetFieldValue<Instant>(3),
            reader.IsDBNull(4) ? null : reader.GetFieldValue<LocalDate>(4), reader.GetFieldValue<LocalDate>(5), lines);
    }
}
