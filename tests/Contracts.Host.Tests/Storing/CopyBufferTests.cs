using Contracts.Host.Tests.Support;
using Contracts.Store.Writing;
using NodaTime;
using Npgsql;
using Xunit;

namespace Contracts.Host.Tests.Storing;

/// <summary>Values in PostgreSQL's binary COPY format, told by PostgreSQL itself.</summary>
public sealed class CopyBufferTests(Server server)
{
    private const string Columns = "n int, l bigint, w text, d date, m timestamptz, f boolean, i uuid, j jsonb, ns int[], ls bigint[], ws text[], ds date[]";

    [Fact]
    public async Task What_is_put_in_is_what_PostgreSQL_reads()
    {
        var buffer = new CopyBuffer().Clear();
        buffer.Row(12).Number(int.MinValue).Long(long.MaxValue).Words("né \t\\ 河").Day(new LocalDate(1969, 12, 31)).Moment(Instant.FromUtc(1999, 12, 31, 23, 59).PlusNanoseconds(1000))
            .Flag(true).Id(new Guid("00112233-4455-6677-8899-aabbccddeeff"));
        var json = buffer.OpenJson();
        "{\"a\": [1, \"né\"]}"u8.CopyTo(buffer.GetSpan(64));
        buffer.Advance("{\"a\": [1, \"né\"]}"u8.Length);
        buffer.Close(json);
        var array = buffer.Open(ArrayMember.Number, 2);
        buffer.Number(1).Nothing().Close(array);
        array = buffer.Open(ArrayMember.Long, 1);
        buffer.Long(-1).Close(array);
        array = buffer.Open(ArrayMember.Words, 3);
        buffer.Words("").Nothing().Words("NULL").Close(array);
        array = buffer.Open(ArrayMember.Day, 1);
        buffer.Day(new LocalDate(9999, 12, 31)).Close(array);
        buffer.Row(12);
        for (var column = 0; column < 12; column++) { buffer.Nothing(); }
        // More than one page of the buffer, to see it grow.
        for (var row = 0; row < 20_000; row++)
        {
            buffer.Row(12).Number(row);
            for (var column = 1; column < 12; column++) { buffer.Nothing(); }
        }

        await using var connection = await OpenAsync();
        await buffer.SendAsync(connection, "copy told from stdin (format binary)", CancellationToken.None);
        Assert.Equal(20_002, buffer.Rows);
        Assert.Equal(
            """""(-2147483648,9223372036854775807,"né \t\\ 河",1969-12-31,"1999-12-31 23:59:00.000001+00",t,00112233-4455-6677-8899-aabbccddeeff,"{""a"": [1, ""né""]}","{1,NULL}",{-1},"{"""",NULL,""NULL""}",{9999-12-31})""""",
            (await TextAsync(connection, "select t::text from told t where l is not null")).Replace("\t", "\\t", StringComparison.Ordinal));
        Assert.Equal("20001|199990000", await TextAsync(connection, "select count(*) || '|' || sum(n) from told where l is null"));
    }

    [Fact]
    public async Task A_buffer_begun_anew_sends_nothing_of_what_it_had()
    {
        var buffer = new CopyBuffer().Clear();
        buffer.Row(1).Number(1);
        buffer.Clear().Row(1).Number(2);
        await using var connection = await OpenAsync();
        await buffer.SendAsync(connection, "copy told (n) from stdin (format binary)", CancellationToken.None);
        Assert.Equal("2", await TextAsync(connection, "select string_agg(n::text, ',') from told"));
    }

    private async Task<NpgsqlConnection> OpenAsync()
    {
        var connection = new NpgsqlConnection(await server.NewDatabaseAsync() + ";Timezone=UTC");
        await connection.OpenAsync();
        await using var command = new NpgsqlCommand($"create temporary table told ({Columns})", connection);
        await command.ExecuteNonQueryAsync();
        return connection;
    }

    private static async Task<string> TextAsync(NpgsqlConnection connection, string sql)
    {
        await using var command = new NpgsqlCommand(sql, connection);
        return (string)(await command.ExecuteScalarAsync())!;
    }
}
