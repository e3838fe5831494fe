using System.Buffers.Binary;
using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using Contracts.Seals;
using Xunit;
using static Contracts.Tests.Seals.SealVectors;

namespace Contracts.Tests.Seals;

/// <summary>RFC 8785: its reference documents, its numbers, and what the restricted model refuses.</summary>
public sealed class CanonicalJsonTests(ITestOutputHelper output)
{
    private static readonly JsonObject Published = Group("json");

    [Fact]
    public void The_reference_documents_come_out_to_the_byte() =>
        Assert.All((JsonArray)Published["documents"]!, document =>
        {
            var made = CanonicalJson.Full(Hex(document!, "input_hex")).Value;
            Assert.Equal(Text(document!, "output_hex"), Convert.ToHexStringLower(made));
            Assert.Equal(Text(document!, "output_sha256"), Digest.Of(made).ToString());
            Assert.Equal(made, CanonicalJson.Full(made).Value);
        });

    [Fact]
    public void The_numbers_of_appendix_b_come_out_as_there() =>
        Assert.All((JsonArray)Published["numbers"]!, number => Assert.Equal((string?)number!["expected"], EcmaNumber.OfBits(Bits(Text(number, "ieee754_hex")))));

    [Fact]
    public void A_million_numbers_have_the_published_checksums()
    {
        var sums = ((JsonArray)Published["es6_number_generator_checksums"]!).ToDictionary(sum => (int)sum!["lines"]!, sum => Text(sum!, "sha256"));
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        var (lines, compared) = (0, 0);
        foreach (var bits in Numbers().Take(Tries("CONTRACTS_NUMBERS", 1_000_000)))
        {
            lines++;
            hash.AppendData(Encoding.ASCII.GetBytes($"{bits:x},{EcmaNumber.OfBits(bits)}\n"));
            if (!sums.TryGetValue(lines, out var expected)) { continue; }
            Assert.Equal(expected, Convert.ToHexStringLower(hash.GetCurrentHash()));
            compared++;
        }

        output.WriteLine($"{lines:N0} numbers, {compared} checksums.");
        Assert.True(compared >= 1, "no checksum was reached");
    }

    [Theory]
    [InlineData("{\"a\":1.5}", SealFaultKind.JsonNotAnInteger)]
    [InlineData("{\"a\":1.0}", SealFaultKind.JsonNotAnInteger)]
    [InlineData("[1e3]", SealFaultKind.JsonNotAnInteger)]
    [InlineData("[1E3]", SealFaultKind.JsonNotAnInteger)]
    [InlineData("[-0]", SealFaultKind.JsonNotAnInteger)]
    [InlineData("[9007199254740992]", SealFaultKind.JsonNumberTooLarge)]
    [InlineData("[-9007199254740992]", SealFaultKind.JsonNumberTooLarge)]
    [InlineData("[123456789012345678901234567890]", SealFaultKind.JsonNumberTooLarge)]
    [InlineData("{\"a\":1,\"b\":2,\"a\":1}", SealFaultKind.JsonNameRepeated)]
    [InlineData("{\"a\":1,\"\\u0061\":1}", SealFaultKind.JsonNameRepeated)]
    [InlineData("[\"\\udead\"]", SealFaultKind.JsonLoneSurrogate)]
    [InlineData("[\"\\ud83d\"]", SealFaultKind.JsonLoneSurrogate)]
    [InlineData("{\"\\udead\":1}", SealFaultKind.JsonLoneSurrogate)]
    [InlineData("[\"\\u0000\"]", SealFaultKind.JsonNul)]
    [InlineData("{\"\\u0000\":1}", SealFaultKind.JsonNul)]
    [InlineData("", SealFaultKind.JsonMalformed)]
    [InlineData("{", SealFaultKind.JsonMalformed)]
    [InlineData("[1,]", SealFaultKind.JsonMalformed)]
    [InlineData("[01]", SealFaultKind.JsonMalformed)]
    [InlineData("[NaN]", SealFaultKind.JsonMalformed)]
    [InlineData("[1] [2]", SealFaultKind.JsonMalformed)]
    [InlineData("[1]//", SealFaultKind.JsonMalformed)]
    [InlineData("\ufeff[1]", SealFaultKind.JsonMalformed)]
    [InlineData("[\"\t\"]", SealFaultKind.JsonMalformed)]
    public void What_is_outside_the_restricted_model_is_refused_with_its_reason(string json, SealFaultKind reason) =>
        Assert.Equal(reason, CanonicalJson.Restricted(Utf8(json)).Fault?.Kind);

    [Theory]
    [InlineData("[9007199254740991,-9007199254740991,0,-1]")]
    [InlineData("{\"b\":[true,false,null],\"a\":\"\\u20ac\"}")]
    [InlineData(" \"text\" ")]
    [InlineData("7")]
    public void What_is_inside_the_restricted_model_has_the_form_of_the_full_one(string json) =>
        Assert.Equal(CanonicalJson.Full(Utf8(json)).Value, CanonicalJson.Restricted(Utf8(json)).Value);

    [Fact]
    public void The_full_form_refuses_what_i_json_refuses()
    {
        Assert.Equal(SealFaultKind.JsonNameRepeated, CanonicalJson.Full("{\"a\":1,\"a\":2}"u8).Fault!.Kind);
        Assert.Equal(SealFaultKind.JsonLoneSurrogate, CanonicalJson.Full("[\"\\udead\"]"u8).Fault!.Kind);
        Assert.Equal(SealFaultKind.JsonNumberTooLarge, CanonicalJson.Full("[1e400]"u8).Fault!.Kind);
        Assert.Equal("[\"\\u0000\"]"u8.ToArray(), CanonicalJson.Full("[\"\\u0000\"]"u8).Value);
        Assert.Equal("[9007199254740992,0]"u8.ToArray(), CanonicalJson.Full("[9007199254740993,-0.0]"u8).Value);
    }

    [Fact]
    public void Depth_and_size_are_bounded()
    {
        static byte[] Nested(int levels) => Utf8(new string('[', levels) + new string(']', levels));
        Assert.True(CanonicalJson.Restricted(Nested(CanonicalJson.Deepest)).IsGood);
        Assert.Equal(SealFaultKind.JsonTooDeep, CanonicalJson.Restricted(Nested(CanonicalJson.Deepest + 1)).Fault!.Kind);
        Assert.Equal(SealFaultKind.JsonTooDeep, CanonicalJson.Restricted(Nested(CanonicalJson.Deepest + 2)).Fault!.Kind);
        Assert.Equal(SealFaultKind.JsonTooDeep, CanonicalJson.Restricted(Nested(1_000_000)).Fault!.Kind);
        Assert.Equal(SealFaultKind.JsonTooLarge, CanonicalJson.Restricted(new byte[CanonicalJson.LargestInput + 1]).Fault!.Kind);
        Assert.Equal(SealFaultKind.JsonNotUtf8, CanonicalJson.Restricted([(byte)'"', 0xC3, (byte)'"']).Fault!.Kind);
        Assert.Equal(SealFaultKind.JsonNotUtf8, CanonicalJson.Restricted([(byte)'"', 0xED, 0xA0, 0x80, (byte)'"']).Fault!.Kind);
    }

    [Fact]
    public void Bytes_that_are_not_the_canonical_ones_are_told_apart()
    {
        Assert.Null(CanonicalJson.Check("{\"a\":1,\"b\":2}"u8));
        Assert.Equal(SealFaultKind.JsonNotCanonical, CanonicalJson.Check("{\"b\":2,\"a\":1}"u8)!.Kind);
        Assert.Equal(SealFaultKind.JsonNotCanonical, CanonicalJson.Check("{\"a\":1}\n"u8)!.Kind);
        Assert.Equal(SealFaultKind.JsonNotCanonical, CanonicalJson.Check("[\"\\u0061\"]"u8)!.Kind);
    }

    [Fact]
    public void An_element_has_the_form_of_its_bytes()
    {
        using var json = JsonDocument.Parse("{\"x\":{\"b\":1, \"a\":[2 ,3]}}");
        Assert.Equal("{\"a\":[2,3],\"b\":1}"u8.ToArray(), CanonicalJson.Restricted(json.RootElement.GetProperty("x")).Value);
    }

    [Fact]
    public void Names_are_sorted_by_their_utf_16_units()
    {
        var random = new Random(8785);
        int[] letters = [0x1, 0x22, 0x41, 0x7F, 0x80, 0x7FF, 0x800, 0xD7FF, 0xE000, 0xEFFF, 0xFB33, 0xFFFF, 0x10000, 0x1F602, 0x10FFFF];
        for (var trial = 0; trial < 20_000; trial++)
        {
            var names = Enumerable.Range(0, random.Next(2, 6)).Select(_ => string.Concat(
                Enumerable.Range(0, random.Next(0, 4)).Select(_ => char.ConvertFromUtf32(letters[random.Next(letters.Length)])))).Distinct().ToList();
            var json = "{" + string.Join(',', names.Select(name => JsonSerializer.Serialize(name) + ":0")) + "}";
            var made = JsonNode.Parse(CanonicalJson.Restricted(Utf8(json)).Value)!.AsObject().Select(member => member.Key);
            Assert.Equal(names.Order(StringComparer.Ordinal), made);
        }
    }

    private static long Bits(string hex) => long.Parse(hex, NumberStyles.HexNumber, CultureInfo.InvariantCulture);

    /// <summary>The published generator: fixed values, serial ones, then doubles cut from a chain of SHA-256.</summary>
    private static IEnumerable<long> Numbers()
    {
        foreach (var known in Texts(Published, "es6_number_generator_static_values_hex")) { yield return Bits(known); }
        for (var serial = 0; serial < 2000; serial++) { yield return 0x0010000000000000 + serial; }
        var chain = new byte[32];
        while (true)
        {
            chain = SHA256.HashData(chain);
            for (var at = 0; at < 32; at += 8)
            {
                var bits = BinaryPrimitives.ReadInt64LittleEndian(chain.AsSpan(at));
                var value = BitConverter.Int64BitsToDouble(bits);
                if (double.IsFinite(value) && value != 0) { yield return bits; }
            }
        }
    }
}
