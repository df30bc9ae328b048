"""Writes the files beside this one into the folder that is given; see README.md."""
import can, os, sys
from can import Message
F=[ # id, ext, bytes, rx
 (0x7DF,False,"0201010000000000",False),(0x7E8,False,"0641018107E50000",True),(0x7E9,False,"0641010004000000",True),
 (0x7DF,False,"0103000000000000",False),(0x7E8,False,"0443010420000000",True),(0x1A0,False,"0102",True),
 (0x7DF,False,"0209020000000000",False),(0x7E8,False,"1014490201314D38",True),(0x7E0,False,"300000",False),
 (0x7E8,False,"2147444D3941584B",True),(0x7E8,False,"2250303432373838",True),
 (0x18DAF110,True,"0241300500000000",True),
]
def msgs():
    t=1700000000.5
    for i,(a,e,d,rx) in enumerate(F):
        yield Message(timestamp=t+i*0.0125,arbitration_id=a,is_extended_id=e,data=bytes.fromhex(d),is_rx=rx,channel=0)
out=sys.argv[1]; os.makedirs(out,exist_ok=True)
from can.io.trc import TRCFileVersion
def write(name,w):
    with w: 
        for m in msgs(): w.on_message_received(m)
write('asc',can.ASCWriter(out+'/python-can.asc'))
write('csv',can.CSVWriter(out+'/python-can.csv'))
write('blf',can.BLFWriter(out+'/python-can.blf'))
write('log',can.CanutilsLogWriter(out+'/python-can.log'))
w=can.TRCWriter(out+'/python-can-2.1.trc'); write('t',w)
w=can.TRCWriter(out+'/python-can-1.0.trc'); w.file_version=TRCFileVersion.V1_0; write('t',w)
p=can.Printer(out+'/python-can-printer.txt'); write('p',p)
# pcap
import struct, dpkt
def sll(m,err=False):
    i=m.arbitration_id|(0x80000000 if m.is_extended_id else 0)
    return struct.pack('>IBBBB',i,len(m.data),0,0,0)+bytes(m.data)
for name,cls,kw in [('dpkt.pcap',dpkt.pcap.Writer,{}),('dpkt.pcapng',dpkt.pcapng.Writer,{})]:
    with open(out+'/'+name,'wb') as f:
        try: w=cls(f,linktype=227)
        except TypeError as e: print(name,e); w=cls(f,idb=dpkt.pcapng.InterfaceDescriptionBlockLE(linktype=227))
        for m in msgs(): w.writepkt(sll(m),ts=m.timestamp)
from scapy.all import wrpcap, PcapWriter, PcapNgWriter, conf
from scapy.layers.can import CAN
def sc():
    for m in msgs():
        p=CAN(identifier=m.arbitration_id,flags=('extended' if m.is_extended_id else ''),length=len(m.data),data=bytes(m.data)); p.time=m.timestamp
        yield p
for cls,name in [(PcapWriter,'scapy.pcap'),(PcapNgWriter,'scapy.pcapng')]:
    w=cls(out+'/'+name)
    for p in sc(): w.write(p)
    w.close()
